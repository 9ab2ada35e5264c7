"""Sheets as a draughtsman makes them: paper and scale from a standard's rows, frame, title block, kinds of line, and
views that stand on the sheet to its scale.

Kinds of line and their dashes, in their own widths: ISO 128-2; scales: ISO 5455; heights of letters: ISO 3098-1;
border: ISO 5457; what a title block says: ISO 7200 (all from memory). The date is left out, so that bytes repeat.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from partgen.report.sheet import INK, POINT, cut, sheet
from partgen.report.typefaces import unknown

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.patches import Patch

PAPERS = {"A4": (297.0, 210.0), "A3": (420.0, 297.0)}       # mm, lying
SCALES = (50.0, 20.0, 10.0, 5.0, 2.0, 1.0, *(1 / part / ten for ten in (1, 10, 100, 1000) for part in (2, 5, 10)))
"""Length on the paper over the thing's own, from large to small."""
SMALLEST = 0.5          # scale that is taken on the smaller paper where the larger one has room for a larger

BINDING, BORDER = 20.0, 10.0    # mm of paper left free on the left and elsewhere
BLOCK = (122.0, 33.0)   # mm: the title block
BAR = 50.0              # mm: the bar to measure on the print
THICK, THIN = 0.5, 0.25         # mm
SMALL, MIDDLE, LARGE = 1.8, 2.5, 3.5    # mm: heights of capitals
CAPITAL = 0.729         # of the type's size: the height of its capitals
WIDEST = "\u2014"       # as wide as the type's size
CLEAR = 4.0             # mm between what is drawn and frame or title block

Box = tuple[float, float, float, float]
"""Left, bottom, right, top [mm of paper]."""

LINES: dict[str, dict[str, Any]] = {
    "outline": {"linewidth": THICK / POINT},
    "thin": {"linewidth": THIN / POINT},
    "hidden": {"linewidth": THIN / POINT, "linestyle": (0, (12, 3))},
    "centre": {"linewidth": THIN / POINT, "linestyle": (0, (24, 3, 0.5, 3))},
    "beside": {"linewidth": THIN / POINT, "linestyle": (0, (24, 3, 0.5, 3, 0.5, 3))},
}
"""Edges seen; dimensions and faint edges; hidden edges; axes; what stands on or beside the thing and is none of it."""


class Format(Struct, frozen=True):
    """A sheet's paper and scale."""

    paper: str
    scale: float

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the paper [mm]."""
        return PAPERS[self.paper]

    @property
    def frame(self) -> Box:
        """The frame that all stands in."""
        width, height = self.size
        return (BINDING, BORDER, width - BORDER, height - BORDER)

    @property
    def block(self) -> Box:
        """Where the title block stands, in the frame's lower right corner."""
        _, low, right, _ = self.frame
        return (right - BLOCK[0], low, right, low + BLOCK[1])

    @property
    def areas(self) -> tuple[Box, Box]:
        """What is free to draw in: all above the title block, and all beside it."""
        (left, low, right, high), (beside, _, _, above) = self.frame, self.block
        return ((left + CLEAR, above + CLEAR, right - CLEAR, high - CLEAR),
                (left + CLEAR, low + CLEAR, beside - CLEAR, high - CLEAR))

    @property
    def ratio(self) -> str:
        """The scale as it is written, such as 1:2."""
        return f"{self.scale:g}:1" if self.scale >= 1 else f"1:{1 / self.scale:g}"


def formats(least: float = SMALLEST) -> Iterator[Format]:
    """Yield paper and scale in the order in which they are tried: the smaller paper, which a maker's printer takes, as
    long as its scale is no smaller than `least`; then whichever paper has the larger scale."""
    yield from (Format("A4", scale) for scale in SCALES if scale >= least)
    yield from (Format(paper, scale) for scale in SCALES for paper in PAPERS)


# ---- the sheet


class Titles(Struct, frozen=True):
    """What a title block says: the train, the sheet, which of how many it is, a remark, and whether there are several
    views of a thing on it, folded about the first one."""

    train: str
    name: str
    number: int
    of: int
    remark: str = ""
    folded: bool = True


@contextmanager
def drawn_sheet(form: Format, titles: Titles) -> "Iterator[tuple[Figure, Axes]]":
    """Give (figure, axes) of a sheet with frame and title block, whose data are millimetres of the paper."""
    with sheet(*form.size) as (figure, axes):
        left, low, right, high = form.frame
        axes.plot([left, right, right, left, left], [low, low, high, high, low], color=INK, linewidth=0.7 / POINT)
        _block(axes, form, titles)
        yield figure, axes


def _block(axes: "Axes", form: Format, titles: Titles) -> None:
    left, low, right, high = form.block
    rules = [((left, low), (left, high)), ((left, high), (right, high)), ((left, low + 25), (right, low + 25)),
             ((left, low + 18), (right, low + 18)), ((left, low + 8), (right, low + 8))]
    marks = [left + share * (right - left) for share in (0.2, 0.42, 0.58, 0.74)][:4 if titles.folded else 3]
    strokes(axes, [*rules, *(((x, low + 8), (x, low + 18)) for x in marks)], "thin")
    room = int((right - left - 4) / (0.62 * LARGE / CAPITAL))
    letters(axes, (left + 2, low + 27.3), cut(titles.train, room), LARGE, weight="bold")
    room = int((right - left - 4) / (0.62 * MIDDLE / CAPITAL))
    letters(axes, (left + 2, low + 20.3), cut(titles.name, room), MIDDLE)
    said = (("scale", form.ratio), ("all lengths in", "mm"), ("paper", form.paper),
            ("sheet", f"{titles.number} of {titles.of}"), ("first angle", ""))
    for x, (what, value) in zip((left, *marks), said, strict=False):
        letters(axes, (x + 1.5, low + 15.2), what, SMALL)
        letters(axes, (x + 1.5, low + 10), value, LARGE if what == "scale" else MIDDLE,
                weight="bold" if what == "scale" else "normal")
    if titles.folded:
        _folded(axes, (marks[-1] + 9.5, low + 11.5))
    _bar(axes, (left + 3, low + 4.5))
    letters(axes, (left + BAR + 7, low + 2.8), "50 mm long on a print of true size", SMALL)
    letters(axes, (left, high + 1.2), titles.remark, SMALL)


def _folded(axes: "Axes", at: tuple[float, float]) -> None:
    """Draw the sign of first angle projection: a cone from the side, and what is seen from its left to the right."""
    x, y = at
    shape(axes, [(x - 5, y - 1), (x - 5, y + 1), (x + 1, y + 2), (x + 1, y - 2)], "thin")
    for radius in (1.0, 2.0):
        ring(axes, (x + 6, y), radius, "thin")
    strokes(axes, [((x - 6, y), (x + 2, y)), ((x + 3.3, y), (x + 8.7, y)), ((x + 6, y - 2.7), (x + 6, y + 2.7))],
            "centre")


def _bar(axes: "Axes", at: tuple[float, float]) -> None:
    """Draw the bar that is measured on the print, with a tick every 10 mm."""
    x, y = at
    strokes(axes, [((x, y), (x + BAR, y))], "outline", gid="bar")
    strokes(axes, [((x + step, y - 1.5), (x + step, y + 1.5)) for step in range(0, int(BAR) + 1, 10)], "thin")


# ---- views and lines


class View:
    """A view on a sheet: what is drawn in it is given in the thing's own mm, the origin stands at `at` on the paper.

    What is drawn later covers what was drawn before.
    """

    def __init__(self, axes: "Axes", at: tuple[float, float], scale: float, name: str = "") -> None:
        from matplotlib.transforms import Affine2D
        self.axes, self.at, self.scale, self.name = axes, at, scale, name
        self.frame = Affine2D().scale(scale).translate(*at) + axes.transData
        self.order = 2.0

    def paper(self, point: Sequence[float]) -> tuple[float, float]:
        """Return where on the paper a point of the view lies [mm]."""
        return self.at[0] + self.scale * point[0], self.at[1] + self.scale * point[1]

    def shape(self, points: Sequence[Sequence[float]], line: str = "outline", fill: bool = True, gid: str = "",
              shut: bool = True) -> None:
        """Draw an outline, closed where it is `shut`, and cover what lies within it where it is to `fill`."""
        self._put(shape(self.axes, points, line, fill and shut, shut), gid)

    def box(self, u: tuple[float, float], v: tuple[float, float], line: str = "outline", fill: bool = True,
            gid: str = "") -> None:
        """Draw a rectangle from where to where it reaches along and up."""
        self.shape([(u[0], v[0]), (u[1], v[0]), (u[1], v[1]), (u[0], v[1])], line, fill, gid)

    def ring(self, middle: Sequence[float], radius: float, line: str = "outline", fill: bool = True,
             gid: str = "") -> None:
        """Draw a circle."""
        self._put(ring(self.axes, middle, radius, line, fill), gid)

    def axis(self, start: Sequence[float], end: Sequence[float], over: float = 2.0) -> None:
        """Draw a centre line from end to end, and `over` [mm of paper] beyond both."""
        (x, y), (u, v) = start, end
        far = ((u - x)**2 + (v - y)**2)**0.5 or 1.0
        dx, dy = ((end - start) / far * over / self.scale for start, end in ((x, u), (y, v)))
        self._put(shape(self.axes, [(x - dx, y - dy), (u + dx, v + dy)], "centre", False, False), "")

    def cross(self, middle: Sequence[float], radius: float, over: float = 2.0) -> None:
        """Draw both centre lines of a circle."""
        x, y = middle
        self.axis((x - radius, y), (x + radius, y), over)
        self.axis((x, y - radius), (x, y + radius), over)

    def _put(self, patch: "Patch", gid: str) -> None:
        self.order += 0.001
        patch.set_transform(self.frame)
        patch.set_zorder(self.order)
        if gid:
            patch.set_gid(f"{self.name} {gid}".strip())


def shape(axes: "Axes", points: Sequence[Sequence[float]], line: str, fill: bool = False, shut: bool = True) -> "Patch":
    """Draw a polygon, closed where it is `shut`, in a kind of LINES; points of the axes' own."""
    from matplotlib.patches import Polygon
    drawn = Polygon(points, closed=shut, facecolor="white" if fill else "none", edgecolor=INK, joinstyle="round",
                    capstyle="butt", **LINES[line])
    axes.add_artist(drawn)      # it counts for no limits, which takes its time
    return drawn


def ring(axes: "Axes", middle: Sequence[float], radius: float, line: str, fill: bool = False) -> "Patch":
    """Draw a circle in a kind of LINES."""
    from matplotlib.patches import Circle
    drawn = Circle((middle[0], middle[1]), radius, facecolor="white" if fill else "none", edgecolor=INK,
                   **LINES[line])
    axes.add_artist(drawn)
    return drawn


def strokes(axes: "Axes", lines: Sequence[Sequence[Sequence[float]]], kind: str, gid: str = "", over: float = 5.0,
            **look: Any) -> None:
    """Draw many lines of one kind of LINES, each a row of points [mm of paper]."""
    from matplotlib.collections import LineCollection
    drawn = axes.add_collection(LineCollection(lines, **{"colors": INK} | LINES[kind] | look), autolim=False)
    drawn.set_zorder(over)
    if gid:
        drawn.set_gid(gid)


def letters(axes: "Axes", at: Sequence[float], text: str, height: float, **look: Any) -> None:
    """Write text whose capitals are `height` [mm] high from its base line's start at a place of the paper."""
    if text:
        usual: dict[str, Any] = {"fontsize": height / CAPITAL / POINT, "va": "baseline", "color": INK,
                                 "rotation_mode": "anchor", "zorder": 8.0}
        axes.text(at[0], at[1], text, **usual | look)


@lru_cache(maxsize=4096)
def breadth(text: str, height: float, weight: str = "normal") -> float:
    """Return how wide [mm] a text is whose capitals are `height` [mm] high; letters that our typeface lacks count as
    wide as any."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path
    strange, face = unknown(text), FontProperties(size=height / CAPITAL / POINT, weight=weight)
    known = "".join(WIDEST if one in strange else one for one in text)
    return text_to_path.get_text_width_height_descent(known, face, ismath=False)[0] * POINT
