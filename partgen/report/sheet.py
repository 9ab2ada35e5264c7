"""A sheet of paper to draw on, in millimetres, that comes out byte for byte the same every time."""

import textwrap
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from partgen.files import written
from partgen.report.typefaces import behind, unknown

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.text import Text
    from matplotlib.typing import RcKeyType

INK, MUTED, PAPER, LINE = "#2b2a27", "#6b665a", "#fbf8f1", "#d8cfbb"
GREEN, BRASS, OAK, RED, TEA = "#2f5d4a", "#bd9149", "#b8926a", "#a3312a", "#7c4a22"
SERIF, SANS = ["STIXGeneral", "DejaVu Serif", "DejaVu Sans"], ["DejaVu Sans"]
MM = 1 / 25.4           # inch
POINT = 0.3528          # mm of paper
LOOK: "dict[RcKeyType, Any]" = {
    "svg.hashsalt": "partgen", "svg.fonttype": "path", "text.parse_math": False, "font.family": SANS,
    "axes.titlelocation": "left", "axes.spines.top": False, "axes.spines.right": False, "text.color": INK,
    "axes.edgecolor": MUTED, "axes.labelcolor": INK, "xtick.color": MUTED, "ytick.color": MUTED}
METADATA: dict[str, dict[str, Any]] = {
    ".png": {"Software": None}, ".svg": {"Date": None, "Creator": "partgen"},
    ".pdf": {"CreationDate": None, "Producer": None, "Creator": "partgen"}}


@contextmanager
def figure(width: float, height: float) -> "Iterator[Figure]":
    """Give a figure of `width` by `height` [mm] in our look; nothing of it needs a display."""
    import matplotlib
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure
    with matplotlib.rc_context(LOOK), warnings.catch_warnings():
        warnings.filterwarnings("ignore", "Glyph .* missing")     # a maker's own letters may be in no font
        drawn = Figure(figsize=(width * MM, height * MM))
        FigureCanvasAgg(drawn)
        yield drawn


@contextmanager
def plot(width: float, height: float) -> "Iterator[tuple[Figure, Axes]]":
    """Give (figure, axes) of a plot with scales at its left and below it; sizes as for `figure`."""
    with figure(width, height) as drawn:
        drawn.set_layout_engine("constrained")
        axes = drawn.subplots()
        yield drawn, axes


@contextmanager
def sheet(width: float, height: float) -> "Iterator[tuple[Figure, Axes]]":
    """Give (figure, axes) of a whole sheet whose data are millimetres from its lower left corner."""
    with figure(width, height) as drawn:
        axes = drawn.add_axes((0, 0, 1, 1))
        axes.set(xlim=(0, width), ylim=(0, height))
        axes.set_axis_off()
        yield drawn, axes


def inset(drawn: "Figure", x: float, y: float, width: float, height: float) -> "Axes":
    """Return axes at a place of the sheet, all in mm from its lower left corner."""
    wide, high = drawn.get_size_inches() / MM
    return drawn.add_axes((x / wide, y / high, width / wide, height / high))


def save(drawn: "Figure", *paths: Path) -> None:
    """Write a figure to PNG, SVG or PDF by each path's suffix, complete or not at all."""
    from matplotlib.text import Text
    texts = drawn.findobj(Text)
    others, _ = behind(unknown("".join(text.get_text() for text in texts)))
    for text in texts if others else ():
        text.set_fontfamily([*text.get_fontfamily(), *others])
    for path in paths:
        with written(path) as fresh:
            drawn.savefig(fresh, dpi=150, metadata=METADATA[path.suffix])


def words(axes: "Axes", x: float, y: float, text: str, size: float = 10, **look: Any) -> "Text":
    """Write text whose first line's base is at (x, y) [mm]; `size` in points."""
    return axes.text(x, y, text, fontsize=size, **({"va": "baseline"} | look))


def paragraph(axes: "Axes", x: float, y: float, text: str, wide: int, size: float = 8, **look: Any) -> float:
    """Write text in lines of at most `wide` letters downwards from (x, y) [mm]; return the next line's y."""
    for line in textwrap.wrap(text, wide):
        words(axes, x, y, line, size, **look)
        y -= 1.38 * size * POINT
    return y


def cut(text: str, letters: int) -> str:
    """Return `text`, of a longer one than `letters` its beginning and its end, where names mostly differ."""
    tail = letters // 2
    return text if len(text) <= letters else f"{text[:letters - 1 - tail]}…{text[-tail:]}"


def heading(axes: "Axes", x: float, y: float, text: str, width: float) -> None:
    """Write a section's heading over a hairline of `width` [mm]."""
    words(axes, x, y, text, 13, family=SERIF, weight="bold", color=GREEN)
    axes.plot([x, x + width], [y - 1.9] * 2, color=LINE, linewidth=0.8)
