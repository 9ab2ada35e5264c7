"""Windows in a lid over what looks up: openings through its deck, and under them a clear pane that keeps a spill out.

The lid prints deck down, so nothing stands above its face; the pane lies in a recess on the inside, glued in there.
"""

from collections.abc import Callable, Iterable, Sequence
from itertools import combinations
from math import ceil

from msgspec import Struct

from partgen.describe.printer_tables import Printer
from partgen.plan.body.layout import Cutout
from partgen.plan.body.wall_cut import EASE
from partgen.plan.fits import slot
from partgen.plan.outline import Patch, Spans, between, grown, hull

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



def panes_of(cutouts: Iterable[Cutout], printer: Printer) -> tuple[Pane, ...]:
    """Return the panes for all `cutouts` in the lid; what is too near each other shares an opening, or a pane."""
    least = max(BAR, printer.thinnest_wall)
    shown = [Shown(grown(Patch(*cutout.middle[:2], *cutout.size[:2]).spans, EASE / 2), (cutout.name,))
             for cutout in cutouts if cutout.wall == "top"]
    openings = [_united(group) for group in _gathered(shown, _hull, least)]
    groups = _gathered(openings, lambda group: _recess(_sheet(group), printer).spans, least)
    return tuple(_pane(group, printer) for group in groups)


def from_wall(rim: float, printer: Printer) -> float:
    """Return how far [mm] a described opening stays from the body's walls, where the lid's rim and its foot reach
    in by `rim` [mm], so that its pane has room."""
    play = (slot(LARGE, "free", printer) - LARGE) / 2
    return rim + FROM_RIM + play + LEDGE + EASE / 2 + 1 / HALVES


class Shown(Struct, frozen=True):
    """An opening through the deck, and the modules that look up through it."""

    spans: Spans
    names: tuple[str, ...]


def _gathered(things: Iterable[Shown], reach: Callable[[Sequence[Shown]], Spans], least: float) -> list[list[Shown]]:
    """Return `things` in groups whose `reach` (a function of a group) is at least `least` [mm] apart."""
    groups = [[thing] for thing in things]
    while near := next(((one, other) for one, other in combinations(groups, 2)
                        if between(reach(one), reach(other)) < least), None):
        groups = [group for group in groups if group not in near] + [near[0] + near[1]]
    return groups


def _hull(group: Sequence[Shown]) -> Spans:
    return hull(shown.spans for shown in group)


def _united(group: Sequence[Shown]) -> Shown:
    return Shown(_hull(group), tuple(dict.fromkeys(name for shown in group for name in shown.names)))


def _patch(spans: Spans) -> Patch:
    (x0, x1), (y0, y1) = spans
    return Patch((x0 + x1) / 2, (y0 + y1) / 2, x1 - x0, y1 - y0)


def _sheet(group: Sequence[Shown]) -> Patch:
    hull = _patch(_hull(group))
    length, width = (ceil((side + 2 * LEDGE) * HALVES - 1e-6) / HALVES for side in (hull.length, hull.width))
    return Patch(hull.x, hull.y, length, width)


def _recess(sheet: Patch, printer: Printer) -> Patch:
    return Patch(sheet.x, sheet.y, slot(sheet.length, "free", printer), slot(sheet.width, "free", printer))


def _pane(group: Sequence[Shown], printer: Printer) -> Pane:
    sheet = _sheet(group)
    return Pane(_united(group).names, tuple(_patch(shown.spans) for shown in group), sheet, _recess(sheet, printer))
