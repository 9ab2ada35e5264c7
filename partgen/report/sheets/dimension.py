"""Dimensions beside a view: which line each stands on, and lines, arrows and figures as ISO 129-1 has them (from
memory).

Shorter ones stand nearer, so that no dimension line crosses another's extension lines; those that lie end to end share
a line. Where figure and word have no room between the arrows, these come from outside and the text stands beside.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from msgspec import Struct

from partgen.report.sheet import INK
from partgen.report.sheets.drafting import MIDDLE, SMALL, Box, View, breadth, letters, strokes

if TYPE_CHECKING:
    from matplotlib.axes import Axes

FIRST, PITCH = 8.0, 6.0         # mm: outline to the first line, line to line
ARROW = (2.5, 0.7)      # mm: length and width
OFF, PAST = 1.0, 1.5    # mm: an extension line begins off the outline and ends past the dimension line
OUTSIDE = 6.0           # mm of dimension line outside arrows that come from there
OVER = 0.8              # mm: text over its line
APART = 1.5             # mm between two texts on a line, and from text to arrow
SIDES = ("below", "above", "left", "right")
UPRIGHT = SIDES[2:]
BEHIND = 1.5            # in the order of drawing: what a view shows covers the lines that lead out of it


class Dimension(Struct, frozen=True):
    """A size to print on one side of a view: its word, its figure [mm] with a mark before it, between which two places
    along that side it lies, and from how far across the view its extension lines come [the thing's mm]."""

    word: str
    value: float
    side: str
    ends: tuple[float, float]
    feet: tuple[float, float]
    mark: str = ""

    @property
    def figure(self) -> str:
        """What is printed of its value."""
        return self.mark + figure(self.value)


class Callout(Struct, frozen=True):
    """Words at the end of a line that leads to a `point` of the view [the thing's mm], above or below it."""

    text: str
    side: str
    point: tuple[float, float]


class Stood(Struct, frozen=True):
    """A dimension at a scale: the line it stands on, counted outwards from 0, its span and what it takes of that line
    [mm of paper from the view's origin], and where its text begins."""

    what: Dimension
    level: int
    span: tuple[float, float]
    taken: tuple[float, float]
    text: float

    @property
    def outside(self) -> bool:
        """Do its arrows come from outside?"""
        return self.taken != self.span


def figure(value: float) -> str:
    """Return a length [mm] as drawings print it: to a tenth, without an idle nought."""
    return f"{value:.1f}".removesuffix(".0")


def stood(dimensions: Iterable[Dimension], scale: float) -> tuple[Stood, ...]:
    """Return where the dimensions of one side of a view stand."""
    found: list[Stood] = []
    spans = {one: (min(one.ends) * scale, max(one.ends) * scale) for one in dimensions}
    edges = [edge for span in spans.values() for edge in span]
    for one, span in sorted(spans.items(), key=lambda both: both[1][1] - both[1][0]):
        taken, text = _room(one, span, edges)
        below = [other.level for other in found if _meet(taken, other.taken)]
        found.append(Stood(one, max(below, default=-1) + 1, span, taken, text))
    return tuple(found)


def _room(one: Dimension, span: tuple[float, float], edges: Sequence[float]) -> tuple[tuple[float, float], float]:
    """Return what a dimension takes of its line, and where its text begins: outside it is on the side on which fewer
    extension lines pass."""
    (low, high), wide = span, _wide(one)
    if high - low >= wide + 2 * ARROW[0] + 2 * OVER:
        return span, (low + high - wide) / 2
    if high - low >= wide + APART:
        return (low - OUTSIDE, high + OUTSIDE), (low + high - wide) / 2
    after, before = (high + ARROW[0], high + ARROW[0] + wide + APART), (low - ARROW[0] - wide - APART, low - ARROW[0])
    crossed = [sum(start < edge < end for edge in edges) for start, end in (after, before)]
    if crossed[0] <= crossed[1]:
        return (low - OUTSIDE, after[1] + APART), after[0] + APART
    return (before[0] - APART, high + OUTSIDE), before[0]


def _wide(one: Dimension) -> float:
    word = breadth(one.word, SMALL)
    return breadth(one.figure, MIDDLE) + (word + 1.0 if word else 0.0)


def _meet(one: tuple[float, float], other: tuple[float, float]) -> bool:
    return one[0] < other[1] - 0.01 and other[0] < one[1] - 0.01


def depth(rows: Sequence[Stood]) -> float:
    """Return how far [mm of paper] dimensions reach out from the view."""
    return FIRST + PITCH * max(one.level for one in rows) + PAST + MIDDLE if rows else 0.0


def along(rows: Sequence[Stood]) -> tuple[float, float]:
    """Return from where to where dimensions reach along their side [mm of paper from the view's origin]."""
    return min((one.taken[0] for one in rows), default=0.0), max((one.taken[1] for one in rows), default=0.0)


# ---- drawn


def draw(view: View, rows: Sequence[Stood], side: str, edge: float) -> None:
    """Draw the dimensions of a side of a view, counted from its `edge` [mm of paper from its origin]."""
    out = -1.0 if side in ("left", "below") else 1.0
    turn = side in UPRIGHT
    origin, across = (view.at[1], view.at[0]) if turn else view.at
    led, lines, arrows = [], [], []
    for one in rows:
        level = across + edge + out * (FIRST + PITCH * one.level)
        for end, foot in zip(one.what.ends, one.what.feet, strict=True):
            start, at = across + foot * view.scale + out * OFF, origin + end * view.scale
            led.append([(at, start), (at, level + out * PAST)])
        low, high = (origin + at for at in one.span)
        lines.append([(origin + at, level) for at in one.taken])
        ways = (-1.0, 1.0) if one.outside else (1.0, -1.0)
        arrows += [_arrow(at, level, way) for at, way in zip((low, high), ways, strict=True)]
        _text(view.axes, one, origin + one.text, level, turn)
    strokes(view.axes, [_turned(line, turn) for line in led], "thin", over=BEHIND)
    strokes(view.axes, [_turned(line, turn) for line in lines], "thin", over=7.5)
    _arrows(view.axes, [_turned(arrow, turn) for arrow in arrows])


def _text(axes: "Axes", one: Stood, start: float, level: float, turn: bool) -> None:
    """Write figure and word over a dimension line; an upright one is read from the right."""
    base = level - OVER if turn else level + OVER
    for text, height in ((one.what.figure, MIDDLE), (one.what.word, SMALL)):
        letters(axes, (base, start) if turn else (start, base), text, height, rotation=90 if turn else 0,
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6}, zorder=7.0)
        start += breadth(text, height) + 1.0


def _arrow(tip: float, level: float, way: float) -> list[tuple[float, float]]:
    long, wide = ARROW
    return [(tip, level), (tip + way * long, level + wide / 2), (tip + way * long, level - wide / 2)]


def _arrows(axes: "Axes", arrows: Sequence[Sequence[tuple[float, float]]]) -> None:
    from matplotlib.collections import PolyCollection
    axes.add_collection(PolyCollection(arrows, facecolors=INK, edgecolors="none", zorder=7.5), autolim=False)


def _turned(points: Sequence[tuple[float, float]], turn: bool) -> list[tuple[float, float]]:
    return [(y, x) for x, y in points] if turn else list(points)


# ---- callouts


def callouts_depth(callouts: Sequence[Callout], scale: float) -> float:
    """Return how far [mm of paper] callouts reach out from the view."""
    return FIRST + PITCH * max(level for _, level in _rows(callouts, scale)) + MIDDLE if callouts else 0.0


def _rows(callouts: Sequence[Callout], scale: float) -> list[tuple[Callout, int]]:
    """Return callouts with their rows: from the right, so that none's line passes through another's words."""
    found: list[tuple[Callout, int]] = []
    for one in sorted(callouts, key=lambda one: -one.point[0]):
        start = one.point[0] * scale
        end = start + 5.0 + breadth(one.text, SMALL)
        taken = [level for other, level in found if other.point[0] * scale < end]
        found.append((one, max(taken, default=-1) + 1))
    return found


def draw_callouts(view: View, callouts: Sequence[Callout], edge: float) -> None:
    """Draw callouts above or below a view, counted from its `edge` [mm of paper from its origin]."""
    lines = []
    for one, level in _rows(callouts, view.scale):
        out = -1.0 if one.side == "below" else 1.0
        x, y = view.paper(one.point)
        row = view.at[1] + edge + out * (FIRST + PITCH * level)
        lines.append([(x, y), (x + 2.0, row), (x + 4.0 + breadth(one.text, SMALL), row)])
        letters(view.axes, (x + 3.0, row + OVER), one.text, SMALL)
        view.axes.plot([x], [y], "o", color=INK, markersize=1.6, zorder=6)
    strokes(view.axes, lines, "thin")


def edges(rows: Mapping[str, Sequence[Stood]], outline: Box, scale: float) -> dict[str, float]:
    """Return by side from where on a view's dimensions are counted [mm of paper from its origin]: from the `outline`
    of what is drawn [the thing's mm], upright ones from beyond those below where they reach down beside them."""
    left, low, right, high = (side * scale for side in outline)
    start, end = along(rows["below"])
    deep = {side: along(rows[side])[0] < low - FIRST / 2 for side in UPRIGHT}
    return {"below": low, "above": high, "left": min(left, start) if deep["left"] else left,
            "right": max(right, end) if deep["right"] else right}


def around(rows: Mapping[str, Sequence[Stood]], callouts: Sequence[Callout], outline: Box, scale: float) -> Box:
    """Return how far a view reaches with all its dimensions [mm of paper from its origin]: `rows` by side, `outline`
    that of what is drawn [the thing's mm]."""
    edge = edges(rows, outline, scale)
    out = {side: depth(found) for side, found in rows.items()}
    for side in {one.side for one in callouts}:
        out[side] = max(out[side], callouts_depth([one for one in callouts if one.side == side], scale))
    flat, tall = ([along(found) for side, found in rows.items() if (side in UPRIGHT) is upright]
                  for upright in (False, True))
    ends = [one.point[0] * scale + 4.0 + breadth(one.text, SMALL) for one in callouts]
    return (min([edge["left"] - out["left"], *(start for start, _ in flat)]),
            min([edge["below"] - out["below"], *(start for start, _ in tall)]),
            max([edge["right"] + out["right"], *ends, *(end for _, end in flat)]),
            max([edge["above"] + out["above"], *(end for _, end in tall)]))
