"""How full, on the ride card: each kind of cup drawn with its marks, or, where those are many, a table of them."""

import textwrap
from math import ceil
from typing import TYPE_CHECKING, Any

import numpy as np

from partgen.checks.hangs import mark
from partgen.describe.load import BY_DEFAULT
from partgen.dynamics.ride import CupRide, RidePlan
from partgen.finding import up
from partgen.report.sheet import INK, MUTED, POINT, RED, TEA, cut, heading, inset, words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST_DRAWN, MOST_ROWS = 4, 14   # cups side by side, cups under each other
LEAD, OVER = 1.25, 2.0  # from line to line under a cup, over the type's height; mm of paper over a cup
FIGURE = 8.5            # mm of paper beside a cup for its figures
DIGITS = 3.1            # of a bold figure's width over its letters' height
CLOSE = 3.6             # mm of paper that two marks' figures keep apart
BROAD = 0.58            # of a letter over its height, most of them
WALL = 2.4              # mm of a drawn cup


def draw_cups(drawn: "Figure", axes: "Axes", ride: RidePlan, x: float, wide: float) -> None:
    """Draw the part of the card that tells how full, `wide` mm from `x` on: marks of all cups, none left out."""
    starred = mark(ride.train.description, "fills") if ride.cups else ""
    heading(axes, x, 257, "How full" + starred, wide)
    if starred:
        words(axes, x + wide, 257, f"* {BY_DEFAULT}", 7.5, color=MUTED, ha="right")
    if not ride.cups:
        words(axes, x, 246, "no cups on this train", 10, color=MUTED)
    elif len(ride.cups) > MOST_DRAWN:
        _table(axes, ride.cups, x, wide)
        words(axes, x, 249, "mm from the rim down: fill mark, never higher", 7.5, color=MUTED)
    else:
        _pictures(inset(drawn, x, 203.5, wide, 49), ride.cups, wide, 49)
        words(axes, x, 201, "solid: fill mark, dashed: never higher; mm from the rim down", 7.5, color=MUTED)
    if any(cup.too_full for cup in ride.cups):
        words(axes, x, 197.8, "red: less than described, do not fill by a gauge printed for it", 7.5, color=RED)


def _table(axes: "Axes", cups: tuple[CupRide, ...], x: float, wide: float) -> None:
    """Write each cup's marks in a row, in as many columns as it takes."""
    columns = ceil(len(cups) / MOST_ROWS)
    rows = ceil(len(cups) / columns)
    pitch, broad = min(4.8, 44 / rows), wide / columns
    size = min(9.0, 0.72 * pitch / POINT, broad / 6)
    figure = DIGITS * size * POINT
    for number, cup in enumerate(cups):
        left, y = x + number // rows * broad, 244 - number % rows * pitch
        words(axes, left, y, cut(cup.liquid.label, int((broad - 2 * figure - 2) / (BROAD * size * POINT))), size)
        colour = RED if cup.too_full else INK
        if not cup.level:
            words(axes, left + broad - 1.5, y, "no drink", size, color=colour, ha="right")
        for at, height in ((figure + 1.5, cup.level), (1.5, cup.safe)) if cup.level else ():
            words(axes, left + broad - at, y, _down(cup, height), size, color=colour, weight="bold", ha="right")


def _pictures(axes: "Axes", cups: tuple[CupRide, ...], wide: float, high: float) -> None:
    """Draw cups side by side in axes of `wide` by `high` mm of paper, all to one scale."""
    places = max(len(cups), 2)      # a single one is not blown up to fill the page
    room = wide / places
    broadest = 2 * (max(max(cup.liquid.radii) for cup in cups) + WALL + 1)
    tallest = max(cup.liquid.rim for cup in cups) + WALL
    size = 9 if len(cups) < 3 else 6.5
    said = [_said(cup, int((room - 1) / (BROAD * size * POINT))) for cup in cups]
    line = LEAD * size * POINT
    below = (max(map(len, said)) + 0.4) * line
    scale = min((room - FIGURE - 1) / broadest, (high - below - OVER) / tallest)
    axes.set(xlim=(0, wide / scale), ylim=(-WALL - below / scale, (high - below) / scale - WALL))
    axes.set_axis_off()
    for number, (cup, lines) in enumerate(zip(cups, said, strict=True)):
        middle = (number + 0.5) * room / scale
        _cup(axes, cup, middle - FIGURE / 2 / scale, size, scale)
        for place, text in enumerate(lines, 1):
            axes.annotate(text, (middle, -WALL - place * line / scale), ha="center", va="baseline",
                          fontsize=size, color=RED if cup.too_full and place == len(lines) else INK)


def _said(cup: CupRide, letters: int) -> list[str]:
    """Return the lines under a drawn cup, its name on two at most, each of so many letters."""
    first, *others = textwrap.wrap(cup.liquid.label, letters)
    return [first, *([cut(" ".join(others), letters)] if others else []),
            f"{cup.level:g} mm deep" if cup.level else "no drink"]


def _cup(axes: "Axes", cup: CupRide, x: float, size: float, scale: float) -> None:
    """Draw a cup's inside in mm, its axis at `x`, with its liquid, the fill mark and the highest mark; letters of
    `size` points, `scale` mm of paper to one of the cup."""
    liquid, level = cup.liquid, cup.level
    radii, heights = np.array(liquid.radii), np.array(liquid.heights)
    _turned(axes, x, np.append(radii[0], radii) + WALL, np.append(-WALL, heights), facecolor="#ece6d8",
            edgecolor=MUTED, linewidth=0.8)
    _turned(axes, x, radii, heights, facecolor="white", edgecolor=MUTED, linewidth=0.5)
    below = heights < level
    _turned(axes, x, np.append(radii[below], liquid.filled(level).radius), np.append(heights[below], level),
            facecolor=TEA, alpha=0.88, linewidth=0)
    side, close = radii.max() + WALL, scale * (cup.safe - level) < CLOSE
    for height, colour, dashes, lift in ((level, INK, "-", "top" if close else "center"),
                                         (cup.safe, RED, (0, (3, 1.6)), "bottom" if close else "center")
                                         ) if level else ():
        axes.plot([x - side - 1, x + side + 1.5 / scale], [height] * 2, color=colour, linewidth=1.2, linestyle=dashes)
        axes.annotate(_down(cup, height), (x + side + 2 / scale, height), fontsize=size, color=colour, va=lift,
                      weight="bold")


def _down(cup: CupRide, height: float) -> str:
    """Return a mark at that height over the inner floor as it is measured, from the rim down."""
    return f"{float(up(cup.liquid.rim - height)):g}"


def _turned(axes: "Axes", x: float, radii: np.ndarray, heights: np.ndarray, **look: Any) -> None:
    """Fill the section of a turned shape about an upright axis at `x`."""
    axes.fill(x + np.concatenate([-radii[::-1], radii]), np.concatenate([heights[::-1], heights]), **look)
