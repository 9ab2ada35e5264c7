"""An opening in a body's wall: its holes by shape, the smooth frame round it, and the wall thinned behind it.

Places along a wall count from its middle, positive to the right as seen from outside; heights are from the floor's
upper face; all in mm.
"""

from collections.abc import Iterable, Iterator
from math import inf, pi, sqrt

from msgspec import Struct

from partgen.describe.printer_tables import Printer
from partgen.plan.body.layout import Cutout
from partgen.plan.body.lid import LidPlan
from partgen.plan.body.lid_clip import WALL_OF
from partgen.plan.body.shell import HEAD_ROOM, BodyShell
from partgen.plan.body.wall_cut import PAST, POCKET, wall_cut
from partgen.plan.outline import Span, Spans, grown

FRAME = 1.6             # of wall that stays smooth round an opening in planks or panels
SLOPE = 1.4             # from there to where other things may begin
LOWEST, UNDER_TOP = 0.6, 3.0    # of wall below and above what looks out
UNDER_GABLE = 1.5       # of wall over a gable, without a bead that the lid snaps behind
TOP_EDGE = 1.0          # of wall over a thinned one
GRILLE_GAP, GRILLE_BAR = 2.0, 1.6   # half open (40 to 65 %: common practice, no source)
INTO_CORNER = 0.3       # that a level top may reach into the outside's rounded corner, 0.01 mm off the wall there
FLUTE_OFF = 0.5         # of wall from an opening to the way of a screw's head: its broken edge


class Hole(Struct, frozen=True):
    """One hole of an opening: its middle along the wall, lower edge, size, radius of its corners, slopes over it."""

    along: float
    low: float
    width: float
    height: float
    corner: float = 0.0
    gable: float = 0.0

    @property
    def level(self) -> float:
        """Length of its top [mm] that leans over too far to carry itself, which the printer bridges: all that is level,
        and of round corners what is nearer to level than 45 degrees."""
        return self.width - 2 * self.gable - (2 - sqrt(2)) * self.corner

    @property
    def area(self) -> float:
        """Area [mm2]."""
        return self.width * self.height - (4 - pi) * self.corner**2 + self.gable * (self.width - self.gable)


class WallOpening(Struct, frozen=True):
    """An opening: the wall, its middle along it, lower edge, width and height of what must pass, and its shape.

    `gable` is the height of the slopes over one wider than the printer bridges. `panel` is how thick the wall must be
    there for what snaps in, 0 for any; `thinned` how much is taken off it from inside over the `pocket` (along, up).
    """

    wall: str
    along: float
    low: float
    width: float
    height: float
    shape: str = "rectangle"
    gable: float = 0.0
    names: tuple[str, ...] = ()         # the module that looks out, none for wires
    bar: float = GRILLE_BAR
    panel: float = 0.0
    thinned: float = 0.0
    pocket: Spans = ((0.0, 0.0), (0.0, 0.0))

    @property
    def top(self) -> float:
        """Its highest point."""
        return self.low + self.height + self.gable

    @property
    def holes(self) -> tuple[Hole, ...]:
        """What is cut: one hole, or the gaps between a grille's bars."""
        if self.shape != "grille":
            corner = min(self.width, self.height) / 2 if self.shape in ("round", "slot") else 0.0
            return (Hole(self.along, self.low, self.width, self.height, corner, self.gable),)
        gap = min(GRILLE_GAP, self.width)
        count = int((self.width + self.bar + 1e-9) / (gap + self.bar))
        return tuple(Hole(self.along + (k - (count - 1) / 2) * (gap + self.bar), self.low, gap, self.height)
                     for k in range(count))

    @property
    def cut(self) -> Spans:
        """From where to where along the wall and up it is cut, to the foot of its pocket's slopes inside."""
        half = self.width / 2
        return grown(self.pocket, self.thinned + PAST) if self.thinned else (
            (self.along - half, self.along + half), (self.low, self.top))

    @property
    def frame(self) -> float:
        """How far the wall stays smooth round it: planks cut into no thinned wall."""
        return max(FRAME, POCKET + self.thinned) if self.thinned else FRAME

    @property
    def taken(self) -> float:
        """How far from it other things may begin."""
        return self.frame + SLOPE

    def beside(self, shell: BodyShell) -> float:
        """Return how far it is from the rounded corners of the inside, 0 where it reaches into one."""
        side = shell.inside[1 if self.wall in ("front", "back") else 0] / 2 - shell.inner_corner
        return max(side - abs(self.along) - self.width / 2, 0.0)

    def corners(self, shell: BodyShell) -> Iterator[tuple[Span, float]]:
        """Yield from where to where [mm] along the wall the thinned wall's edge reaches into a rounded corner of the
        inside, and how far that stands out from the wall there."""
        flat = shell.inside[1 if self.wall in ("front", "back") else 0] / 2 - shell.inner_corner
        deep = self.thinned + PAST
        for sense, edge in zip((-1, 1), self.pocket[0], strict=True):
            into = min(sense * edge + deep - flat, shell.inner_corner)
            if self.thinned and into > 1e-6:
                low, high = sorted((sense * flat, sense * (flat + into)))
                yield (low, high), shell.inner_corner - sqrt(shell.inner_corner**2 - into**2)

    def volume(self, wall: float) -> float:
        """Return what it takes out of a wall [mm] thick [mm3]."""
        holes = sum(hole.area for hole in self.holes)
        (left, right), (low, high) = self.pocket
        return holes * wall + self.thinned * max((right - left) * (high - low) - holes, 0.0)


def looking_out(cutouts: Iterable[Cutout], shell: BodyShell, printer: Printer, lid: LidPlan) -> Iterator[WallOpening]:
    """Yield the opening of every one of `cutouts` that is in a wall, as far as the wall goes: no pocket reaches where
    the clips of the `lid` hold on to the wall's upper edge, no gable under their beads."""
    yield from (_opening(cutout, shell, printer, lid) for cutout in cutouts if cutout.wall in WALL_OF.values())


def along(wall: str, x: float, y: float) -> float:
    """Return where (x, y) [mm] lies along a wall, counted as a WallOpening does."""
    return {"front": y, "left": -x, "back": -y, "right": x}[wall]


def beside_flutes(shell: BodyShell, wall: str, at: float, wide: float) -> float:
    """Return how far [mm] what is `wide` about `at` along a wall stays from the flutes for its screws' heads, infinite
    without any; what reaches into one would have nothing to print on there."""
    return min((max(low - at, at - high) - wide / 2 for low, high in flutes(shell, wall)), default=inf)


def flutes(shell: BodyShell, wall: str) -> Iterator[Span]:
    """Yield from where to where [mm] along a wall each flute for a screw's head reaches."""
    radius = shell.cone / 2 + HEAD_ROOM
    half = sqrt(radius**2 - (radius - shell.flute)**2)
    yield from ((along(wall, *screw) - half, along(wall, *screw) + half) for screw in shell.screws if shell.flute)


def _opening(cutout: Cutout, shell: BodyShell, printer: Printer, lid: LidPlan) -> WallOpening:
    """Return the opening for one cutout under a lid."""
    x, y, z = cutout.middle
    across = cutout.wall in ("front", "back")
    cut = wall_cut((cutout.size[1 if across else 0], cutout.size[2]), cutout.shape, cutout.panel, shell.wall, printer)
    wide, high, thinned, deep = cut.width, cut.height, cut.thinned, cut.deep
    middle, low, top = along(cutout.wall, x, y), max(z - high / 2, LOWEST), min(z + high / 2,
                                                                                shell.inside[2] - UNDER_TOP)
    clips = [sorted(along(cutout.wall, at, at) for at in span) for span in lid.clips.taken(cutout.wall)]
    free = shell.inside[2] - (lid.rim.depth if clips else TOP_EDGE)
    # Where the outside rounds off its corner a level top would end in the air.
    past = abs(middle) + wide / 2 + shell.corner - (shell.width if across else shell.length) / 2
    slopes = max(cut.gable, past if past > INTO_CORNER and cutout.shape == "rectangle" else 0.0)
    beads = any(abs(middle - (left + right) / 2) < (wide + right - left) / 2 for left, right in clips)
    stays = max(UNDER_GABLE, (lid.clips.bead_foot if beads else 0.0) + printer.thinnest_wall)
    gable = round(min(slopes, max(0.0, shell.inside[2] - stays - top)), 6)  # a hair would have no sides to draw
    side = shell.inside[1 if across else 0] / 2 - shell.inner_corner
    pocket = ((max(middle - wide / 2 - POCKET, min(deep - side, middle - wide / 2)),
               min(middle + wide / 2 + POCKET, max(side - deep, middle + wide / 2))),
              (max(low - POCKET, min(LOWEST + deep, low)), min(top + POCKET, max(free - deep, top))))
    return WallOpening(cutout.wall, middle, low, wide, top - low, cutout.shape, gable, (cutout.name,),
                       max(GRILLE_BAR, printer.thinnest_wall), cutout.panel, thinned, pocket)
