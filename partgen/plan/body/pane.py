"""Windows in a lid over what looks up: openings through its deck, and under them the clear pane that keeps a spill out.

The lid prints deck down, so nothing stands above its face; the pane lies in a recess on the inside, glued in from there.
"""

from itertools import combinations
from math import ceil

from msgspec import Struct

from partgen.describe.printer_tables import Printer
from partgen.plan.body.fittings import EASE, Patch
from partgen.plan.fits import slot
from partgen.plan.outline import Spans, between, grown

PANE = 1.0              # thickness of clear sheet as bought
HALVES = 2.0            # its sides end on half millimetres: it is cut by hand
LEDGE = 2.5             # of plate all round an opening that it is glued to
FRONT = 1.2             # of plate before it, at least
BAR = 1.6               # of plate between two openings or two recesses, at least: nearer ones become one
LARGE = 100.0           # no pane is larger but a few
CORNER = 2.0            # of an opening, rounded
RECESS_CORNER = 0.8     # a square corner of the pane goes in
FROM_RIM = 0.8          # recess to the rim's foot and to the clips' sockets
MOST_DEEP = 15.0        # below the deck; deeper it is read from right above only (common practice, no source)


class Pane(Struct, frozen=True):
    """A clear pane with the openings over it, in wagon axes [mm]; `names` are the modules that look up through it."""

    names: tuple[str, ...]
    openings: tuple[Patch, ...]
    sheet: Patch            # the pane as it is cut
    recess: Patch           # that it lies in

    @property
    def spans(self) -> Spans:
        """From where to where [mm] the recess reaches along x and y."""
        return spans(self.recess)

    @property
    def kept(self) -> Spans:
        """The same with what stays free round it."""
        return grown(self.spans, FROM_RIM)


def panes_of(cutouts, printer: Printer) -> tuple[Pane, ...]:
    """Return the panes for all `cutouts` in the lid; what is too near each other shares an opening, or a pane."""
    least = max(BAR, printer.thinnest_wall)
    shown = [(_eased(cutout), (cutout.name,)) for cutout in cutouts if cutout.wall == "top"]
    openings = [_united(group) for group in _gathered(shown, _hull, least)]
    groups = _gathered(openings, lambda group: spans(_recess(_sheet(group), printer)), least)
    return tuple(_pane(group, printer) for group in groups)


def from_wall(rim: float, printer: Printer) -> float:
    """Return how far [mm] a described opening stays from the body's walls, where the lid's rim and its foot reach
    in by `rim` [mm], so that its pane has room."""
    play = (slot(LARGE, "free", printer) - LARGE) / 2
    return rim + FROM_RIM + play + LEDGE + EASE / 2 + 1 / HALVES


def depth(lid, floor: float, placed) -> float:
    """Return how far [mm] below the deck of `lid` the upper face of a module lies; `floor` is the body's floor over
    rail top [mm]."""
    return lid.top - floor - placed.z - placed.height


def nearest(pane: Pane, lid) -> tuple[float, str]:
    """Return how far [mm] a pane's recess is from the nearest of the rim's foot and the clips' sockets, negative
    where they meet, and which that is."""
    (x0, x1), (y0, y1) = pane.spans
    half_x, half_y = (side / 2 - lid.rim_wall - lid.rim_foot for side in (lid.rim_length, lid.rim_width))
    gaps = [(half_x - x1, "front rim"), (half_x + x0, "back rim"), (half_y - y1, "left rim"), (half_y + y0, "right rim")]
    gaps += [(between(pane.spans, block), "clip's socket") for block in lid.latching.blocks]
    return min(gaps)


def spans(patch: Patch) -> Spans:
    """Return from where to where [mm] a patch reaches along x and y."""
    return ((patch.x - patch.length / 2, patch.x + patch.length / 2),
            (patch.y - patch.width / 2, patch.y + patch.width / 2))


def _eased(cutout) -> Spans:
    return tuple((at - side / 2 - EASE / 2, at + side / 2 + EASE / 2) for at, side in zip(cutout.middle, cutout.size[:2]))


def _gathered(things, reach, least: float):
    """Return `things` in groups whose `reach` (a function of a group) is at least `least` [mm] apart."""
    groups = [[thing] for thing in things]
    while near := next((pair for pair in combinations(groups, 2) if between(*map(reach, pair)) < least), None):
        groups = [group for group in groups if group not in near] + [near[0] + near[1]]
    return groups


def _hull(group) -> Spans:
    """Return the rectangle round the openings of a group."""
    return tuple((min(span[axis][0] for span, _ in group), max(span[axis][1] for span, _ in group)) for axis in (0, 1))


def _united(group):
    return _hull(group), tuple(dict.fromkeys(name for _, names in group for name in names))


def _patch(hull: Spans) -> Patch:
    (x0, x1), (y0, y1) = hull
    return Patch((x0 + x1) / 2, (y0 + y1) / 2, x1 - x0, y1 - y0)


def _sheet(group) -> Patch:
    hull = _patch(_hull(group))
    length, width = (ceil((side + 2 * LEDGE) * HALVES - 1e-6) / HALVES for side in (hull.length, hull.width))
    return Patch(hull.x, hull.y, length, width)


def _recess(sheet: Patch, printer: Printer) -> Patch:
    return Patch(sheet.x, sheet.y, slot(sheet.length, "free", printer), slot(sheet.width, "free", printer))


def _pane(group, printer: Printer) -> Pane:
    sheet = _sheet(group)
    names = tuple(dict.fromkeys(name for _, names in group for name in names))
    return Pane(names, tuple(_patch(span) for span, _ in group), sheet, _recess(sheet, printer))
