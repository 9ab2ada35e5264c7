"""A light strip under the lid's eaves, along either side: a groove that it sticks in, shining down on the sides; a
valance that hides it from view and sheds drips; and ways in for its wires, past the lid's rim and over the wall.

The lid prints deck down, so grooves open upwards and valances rise from its plate.
"""

from collections.abc import Iterator, Sequence
from math import floor

from msgspec import Struct

from partgen.describe.printer_tables import Printer
from partgen.plan.body.layout import Layout, Placed
from partgen.plan.body.lid_clip import LidClips, LidRim
from partgen.plan.body.shell import BodyShell
from partgen.plan.body.wall_cut import wall_cut
from partgen.plan.context import Context
from partgen.plan.fastening import lid_plate
from partgen.plan.fits import slot
from partgen.plan.outline import Span, between

WIDE, THICK = 8.0, 3.0  # of a bought strip with what is soldered to it (common practice, no source)
SUNK = 0.8              # in its groove
ROOF = 1.6              # of plate over the groove, at least
BESIDE = 0.6            # of plate between groove and body
VALANCE = 1.6           # thickness, and more where the drip groove goes into it
CHEEK_GAP = 0.4         # end of the valance to the body's wall
SPARE = 1.0             # groove beyond the strip, each end
WAY, WAY_DEEP = 5.0, 2.4        # notch in the wall's upper edge, gap in the rim: three wires
WAY_BESIDE = 2.0        # of wall and rim between a way and the lid's clips or bosses
WAY_STEP = 1.0          # from one place that is tried to the next
WIRE_ROOM = 2.5         # free inside behind a way, where there is a choice


class StripPlan(Struct, frozen=True):
    """Both strips of a lid in wagon axes: the left one, and the right one alike; all in mm.

    `ways` are (along x, side); `free` is what lies between the worst of them and the lid's clips and bosses.
    """

    middle: float           # y of the groove's middle
    length: float           # of the groove
    groove: float           # its width
    depth: float            # its depth
    span: float             # length of the valance over all
    valance: float          # its thickness
    hang: float             # how far it hangs down: as low as the lid's rim
    inner: float            # y where its ends stop
    ways: tuple[tuple[float, str], ...]
    free: float

    @property
    def strip(self) -> float:
        """Length [mm] of each strip, at most."""
        return floor(self.length - 2 * SPARE)

    @property
    def volume(self) -> float:
        """Volume [mm3] of both valances less both grooves."""
        hung = self.span + 2 * (self.middle + self.groove / 2 - self.inner)
        return 2 * (hung * self.valance * self.hang - self.length * self.groove * self.depth)


def eaves(printer: Printer, drip: float) -> float:
    """Return how far [mm] the lid reaches beyond the body's side for a strip; its drip groove ends `drip` [mm] in."""
    return BESIDE + slot(WIDE, "free", printer) + max(VALANCE, drip, printer.thinnest_wall)


def resolve(context: Context, shell: BodyShell, layout: Layout, rim: LidRim, clips: LidClips,
            reach: float) -> StripPlan:
    """Resolve the strips under a lid with that rim and those clips that reaches `reach` [mm] beyond the body's sides.

    A way for wires goes where no module stands close behind it, as near to the middle as the lid's clips let it.
    """
    groove, side = slot(WIDE, "free", context.printer), shell.width / 2
    valance, span = reach - BESIDE - groove, shell.length - 2 * shell.corner
    seen = tuple(_seen(layout, shell, context.printer))
    ways = {wall: _way(wall, shell, layout.placed, rim, [*clips.taken(wall), *(span for side, span in seen
                                                                               if side == wall)])
            for wall in ("left", "right")}
    return StripPlan(
        middle=side + BESIDE + groove / 2, length=span - 2 * valance, groove=groove,
        depth=min(SUNK, lid_plate(context.printer) - max(ROOF, context.printer.thinnest_wall)), span=span,
        valance=valance, hang=rim.depth, inner=side + CHEEK_GAP, ways=tuple((x, wall) for wall, (x, _) in ways.items()),
        free=min(free for _, free in ways.values()))


def _seen(layout: Layout, shell: BodyShell, printer: Printer) -> Iterator[tuple[str, Span]]:
    """Yield walls, and from where to where along x [mm] what looks out there takes them nearly as high up as a way."""
    for one in layout.cutouts:
        cut = wall_cut((one.size[0], one.size[2]), one.shape, one.panel, shell.wall, printer)
        top, half = one.middle[2] + cut.height / 2 + max(cut.gable, cut.beyond), cut.width / 2 + cut.beyond
        if top > shell.inside[2] - WAY_DEEP - WAY_BESIDE:
            yield one.wall, (one.middle[0] - half, one.middle[0] + half)


def _way(wall: str, shell: BodyShell, placed: Sequence[Placed], rim: LidRim,
         taken: Sequence[Span]) -> tuple[float, float]:
    """Return where along a wall its way is [mm], clear of what is `taken` of rim and wall, and what is free beside it
    [mm]."""
    end = rim.length / 2 - rim.corner - WAY / 2
    face = shell.inside[1] / 2
    across = (face - WIRE_ROOM, face) if wall == "left" else (-face, WIRE_ROOM - face)

    def free(x: float) -> float:
        return min([end - abs(x), *(max(low - x, x - high) - WAY / 2 for low, high in taken)])

    def crowded(x: float) -> bool:
        """Does a module stand close behind the wall at `x`?"""
        return any(between(one.spans, ((x - WAY / 2, x + WAY / 2), across)) < 0 for one in placed)

    steps = range(-max(int(end / WAY_STEP), 0), max(int(end / WAY_STEP), 0) + 1)
    spots = sorted((k * WAY_STEP for k in steps), key=lambda x: (crowded(x), abs(x), x))
    best = next((x for x in spots if free(x) >= WAY_BESIDE), max(spots, key=free))
    return best, free(best)
