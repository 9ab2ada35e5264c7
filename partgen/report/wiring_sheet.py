"""The wiring diagram: every cable from end to end, core by core, under the vehicles that it joins."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from partgen.dynamics.cables import Laid, laid
from partgen.identity import LOCOMOTIVE, TRACK
from partgen.paper.wiring import cores, guarded
from partgen.plan.train import TrainPlan
from partgen.report.sheet import INK, LINE, MUTED, RED, cut, save, sheet, words

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Box = tuple[float, float, float, float]
SIZE, MARGIN = (297.0, 210.0), 12.0     # mm
HEAD, NAME = 10.0, 7.0          # mm over all cables, and over the wires of each
WIRE = 5.0              # mm from wire to wire, at most
NOTE = 14.0             # mm under all cables
FUSE, FUSE_OFF = 8.0, 20.0           # mm: a fuse's length, and from its middle to the battery
LETTER = 1.9            # mm that a small letter takes
EDGE, CORE = 3.4, 2.2   # points of a wire's dark edge and of its colour


def draw(train: TrainPlan, *paths: Path) -> None:
    """Draw the diagram on a sheet of its own, to PNG, SVG or PDF by each path's suffix."""
    with sheet(*SIZE) as (drawn, axes):
        words(axes, MARGIN, SIZE[1] - MARGIN, f"{train.description.title}: how it is wired", 14, weight="bold")
        draw_on(axes, train, (MARGIN, MARGIN, SIZE[0] - MARGIN, SIZE[1] - MARGIN - 6.0))
        save(drawn, *paths)


def draw_on(axes: "Axes", train: TrainPlan, box: Box) -> None:
    """Draw every cable of a train in a `box` (left, low, right, high) [mm] of a sheet."""
    left, low, right, high = box
    places = _columns(train, left, right)
    for name, (start, end) in places.items():
        axes.fill([start, end, end, start], [low + NOTE, low + NOTE, high, high], facecolor="none", edgecolor=LINE)
        words(axes, (start + end) / 2, high - HEAD / 2, cut(name, max(int((end - start) / LETTER), 3)), 9, ha="center",
              weight="bold")
    found = laid(train)
    rows = sum(NAME + WIRE * one.run.cable.cores for one in found)
    shrunk = min(1.0, (high - HEAD - low - NOTE) / rows) if rows else 1.0
    top = high - HEAD
    for one in found:
        top = _cable(axes, one, places, top, shrunk, _battery_end(one, train))
    words(axes, left, low + NOTE / 2, f"At the supply, in its red wire: {guarded(train)}.", 8, color=RED)
    words(axes, left, low, "+ is plus, - is minus, at both ends alike; every other wire has its number at both ends. "
          "Ends are named as in the description.", 8, color=MUTED)


def _columns(train: TrainPlan, left: float, right: float) -> dict[str, tuple[float, float]]:
    """Return from where to where [mm] each vehicle that a cable ends in or passes has its column, front one left."""
    meant = {end.place.casefold() if end.outside else end.place for run in train.description.cable for end in run.ends}
    passed = {plan.name for plan in train.wagons if plan.cables.passing}
    names = [name for name in (LOCOMOTIVE, *(plan.name for plan in train.wagons), TRACK) if name in meant | passed]
    wide = (right - left) / max(len(names), 1)
    return {name: (left + k * wide + 1.5, left + (k + 1) * wide - 1.5) for k, name in enumerate(names)}


def _cable(axes: "Axes", one: Laid, places: dict[str, tuple[float, float]], top: float, shrunk: float,
           battery: str) -> float:
    """Draw one cable under `top` [mm], a fuse in its first wire at the end that is named as its `battery`; return where
    the next begins."""
    ends = [places[end.place.casefold() if end.outside else end.place] for end in one.run.cable.ends]
    (x0, named0), (x1, named1) = sorted(zip((start + (end - start) / 2 for start, end in ends), (one.start, one.goal),
                                            strict=True))
    if x0 == x1:
        half = (ends[0][1] - ends[0][0]) * 0.22
        x0, x1 = x0 - half, x0 + half
    y = top - NAME * shrunk * 0.75
    told = f"{one.run.called}: {one.run.said}, {one.run.plugged}, cut {one.length:.0f} mm"
    words(axes, (x0 + x1) / 2, y, told, 8 * shrunk, ha="center", color=INK)
    y -= NAME * shrunk * 0.25
    count = one.run.cable.cores
    low = y - WIRE * shrunk * count
    for k, core in enumerate(cores(one.run)):
        level = y - WIRE * shrunk * (k + 0.5)
        axes.plot([x0, x1], [level] * 2, color=INK, linewidth=EDGE * shrunk, solid_capstyle="butt")
        axes.plot([x0, x1], [level] * 2, color=core.drawn, linewidth=CORE * shrunk, solid_capstyle="butt")
        for x, side in ((x0, "left"), (x1, "right")):
            words(axes, x + (1.0 if side == "left" else -1.0), level + 0.9 * shrunk, f"{core.label} {core.colour}",
                  6.5 * shrunk, ha=side)
    if battery:
        _fuse(axes, x0 + FUSE_OFF if named0 == battery else x1 - FUSE_OFF, y - WIRE * shrunk / 2, shrunk)
    _named(axes, ((x0, named0, "right"), (x1, named1, "left")), (low, y), shrunk)
    return low


def _battery_end(one: Laid, train: TrainPlan) -> str:
    """Return the end of a cable that is a battery, as it is named; "" for none."""
    modules = train.description.module
    return next((named for named, end in zip((one.start, one.goal), one.run.cable.ends, strict=True)
                 if end.what in modules and not end.outside and modules[end.what].battery), "")


def _fuse(axes: "Axes", x: float, y: float, shrunk: float) -> None:
    """Draw a fuse in a wire: a box that the wire goes through (IEC 60617, from memory)."""
    half, high = FUSE / 2, 1.2 * shrunk
    axes.fill([x - half, x + half, x + half, x - half], [y - high, y - high, y + high, y + high], facecolor="white",
              edgecolor=INK, zorder=3)
    axes.plot([x - half, x + half], [y, y], color=INK, linewidth=1.0, zorder=4)
    words(axes, x, y + 1.5 * shrunk, "fuse", 6.5 * shrunk, ha="center")


def _named(axes: "Axes", ends: Sequence[tuple[float, str, str]], upright: tuple[float, float], shrunk: float) -> None:
    """Draw what a cable ends at, its name beside it."""
    low, high = upright
    for x, name, side in ends:
        axes.plot([x, x], [low + 0.8, high - 0.8], color=INK, linewidth=3 * shrunk, solid_capstyle="butt")
        words(axes, x + (-1.2 if side == "right" else 1.2), (low + high) / 2 - 0.8, name, 8 * shrunk, ha=side,
              weight="bold")
