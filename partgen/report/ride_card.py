"""The ride card: a page to hang beside the track, and a second where it has many cautions."""

import textwrap
from collections.abc import Sequence
from math import inf
from pathlib import Path
from typing import TYPE_CHECKING

from partgen.checks.hangs import mark
from partgen.describe.description import Description
from partgen.describe.load import BY_DEFAULT
from partgen.dynamics.ramps import SAID
from partgen.dynamics.ride import RidePlan
from partgen.dynamics.speeds import CurveSpeed
from partgen.finding import down
from partgen.paper.cautions import Caution, cautions
from partgen.paper.endurance import run_time
from partgen.report.card_cups import draw_cups
from partgen.report.plots import draw_ramp
from partgen.report.sheet import (
    BRASS,
    GREEN,
    MUTED,
    PAPER,
    POINT,
    RED,
    SERIF,
    cut,
    heading,
    inset,
    paragraph,
    save,
    sheet,
    words,
)
from partgen.report.track_map import draw_stops

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH, HEIGHT = 210.0, 297.0    # mm, A4 upright
LEFT, RIGHT, WIDE = 14.0, 112.0, 84.0
MOST_STOPS = 5
CAUTION_SIZES = (10.0, 9.5, 9.0, 8.5, 8.0, 7.6, 7.4, 7.2, 7.0, 6.8, 6.6, 6.4, 6.2, 6.0, 5.7, 5.4)      # points
MOST = 7.6              # of them on the first page
CAUTIONS, ALONE = 53.5, 250.5   # mm: where the first ones begin, on the first page and on one of their own
LETTERS, BOTTOM = 448.0, 5.0    # letters to a column at 1 point; mm
ROWS_TOP, ROWS_BOTTOM, ROW = 220.5, 198.4, 4.4      # mm
NOTE, NAME = 30, 8      # letters to a curve's note; of them the fewest for who it is about, or none
CLIMBER = 18            # letters of the name of the cup in which a drink climbs highest


def draw(ride: RidePlan, *paths: Path) -> tuple[Path, ...]:
    """Draw the ride card to every path, PDF or PNG by its suffix; the bytes repeat.

    Cautions that it has no room for stand on a second page, beside each path and called as that one with -2; returns
    those paths.
    """
    said = cautions(ride)
    size = _size(said, MOST, CAUTIONS)
    with sheet(WIDTH, HEIGHT) as (drawn, axes):
        _title(axes, ride)
        _speeds(axes, ride)
        draw_cups(drawn, axes, ride, RIGHT, WIDE)
        heading(axes, LEFT, 192, "Where to stop" + mark(ride.train.description, "markers"), WIDTH - 2 * LEFT)
        draw_stops(inset(drawn, LEFT - 4, 115, 124, 74), ride)
        _stops(axes, ride)
        _ramp(drawn, axes, ride)
        heading(axes, LEFT, 60, "Take care", WIDTH - 2 * LEFT)
        if size:
            _cautions(axes, said, size, CAUTIONS)
        else:
            _pointed(axes, said)
        save(drawn, *paths)
    if size:
        return ()
    more = tuple(path.with_stem(f"{path.stem}-2") for path in paths)
    with sheet(WIDTH, HEIGHT) as (drawn, axes):
        _title(axes, ride)
        heading(axes, LEFT, 257, "Take care", WIDTH - 2 * LEFT)
        _cautions(axes, said, _size(said, CAUTION_SIZES[0], ALONE) or CAUTION_SIZES[-1], ALONE)
        save(drawn, *more)
    return more


def _title(axes: "Axes", ride: RidePlan) -> None:
    for top, bottom, colour in ((HEIGHT, 268, GREEN), (268, 266.8, BRASS)):
        axes.fill([0, WIDTH, WIDTH, 0], [top, top, bottom, bottom], color=colour, linewidth=0)
    title = ride.train.description.title
    words(axes, LEFT, 280, title, min(30, 960 / max(len(title), 1)), family=SERIF, weight="bold", color=PAPER)
    note = "Ride card" + ("" if not ride.train.description.invented else ", all figures invented")
    words(axes, LEFT, 272.6, note, 11, family=SERIF, style="italic", color="#d9e2d6")
    charge = run_time(ride)
    if ride.train.left_out:
        charge = f"with {', '.join(plan.name for plan in ride.train.wagons)} alone: print it anew with the others"
    size = min(11, 700 / len(charge))
    words(axes, WIDTH - LEFT, 272.6, charge, size, family=SERIF, color="#d9e2d6", ha="right")


def _speeds(axes: "Axes", ride: RidePlan) -> None:
    starred = mark(ride.train.description, "speeds")
    heading(axes, LEFT, 257, "How fast" + starred, WIDE)
    words(axes, LEFT, 225.4, f"* {BY_DEFAULT}" if starred else "", 7.5, color=MUTED)
    number = words(axes, LEFT, 237, down(ride.speed, 0), 46, family=SERIF, weight="bold", color=GREEN)
    words(axes, LEFT + 9.2 * len(number.get_text()), 237, "mm/s at most", 14, family=SERIF, color=GREEN)
    what = f"a lap of {ride.path.length / 1000:.2f} m" if ride.lap else f"{ride.path.length / 1000:.2f} m"
    words(axes, LEFT, 229.5, f"{what} in {ride.time:.0f} s, waiting at stops not counted", 9, color=MUTED)
    letters, size = (52, 8.5) if len(ride.faults) < 2 else (60, 7.4)
    faults = [f"Not so: {fault}." for fault in ride.faults[:2]]
    down_to = ROWS_BOTTOM + sum(1 + 1.38 * size * POINT * len(textwrap.wrap(text, letters)) for text in faults)
    y, rise = ROWS_TOP, ride.ramps.rise
    rows = [("starting", f"{rise.time:.2f} s", f"{rise.way(0.0, ride.speed):.0f} mm to full speed"),
            *(_curve(curve, ride.train.description) for curve in ride.curves)]
    room = max(int((ROWS_TOP - down_to) / ROW) + 1, 2)
    shown = rows if len(rows) <= room else rows[:room - 1]
    for what, figure, note in shown:
        words(axes, LEFT, y, what, 10)
        words(axes, LEFT + 30, y, figure, 10, weight="bold")
        words(axes, LEFT + 52, y, note, 6.8, color=MUTED)
        y -= ROW
    if len(rows) > room:
        more = f"{len(rows) - len(shown)}{' more' if len(shown) > 1 else ''} radii"
        words(axes, LEFT, y, f"{more}: see firmware/ride.json", 8, color=MUTED)
        y -= ROW
    for text in faults:
        y = paragraph(axes, LEFT, y - 1 + 0.3 * ROW, text, letters, size, color=RED, weight="bold")


def _curve(curve: CurveSpeed, described: Description) -> tuple[str, str, str]:
    """Return what the card says of a radius: which, how fast, and what happens over which speed."""
    limit, who, does = min((curve.tip, curve.tips, curve.tip_way),
                           (curve.spill, described.called(curve.spills), curve.spill_way))
    over = f" {does} over {down(limit, 0)}" if limit < inf else ""
    room = NOTE - len(over)
    return (f"on radius {curve.radius:.0f}", f"{down(curve.speed, 0)} mm/s",
            ((cut(who, room) if room >= min(NAME, len(who)) else "") + over).strip() if over else "")


# ---- where and how to stop


def _stops(axes: "Axes", ride: RidePlan) -> None:
    x, y = 136.0, 181.0
    missed = next((plan.name for plan in ride.train.left_out if plan.hung), "") if not ride.sensor.wagon else ""
    shown = ride.markers if len(ride.markers) <= MOST_STOPS else ride.markers[:MOST_STOPS - 1]
    short = min(marker.length for marker in ride.markers)
    for number, marker in enumerate(shown, 1):
        axes.plot([x + 2.2], [y + 1.2], "o", color=GREEN, markersize=11)
        words(axes, x + 2.2, y + 1.1, str(number), 8, color=PAPER, ha="center", va="center_baseline", weight="bold")
        words(axes, x + 6.5, y, marker.stop[:24], 9.5, weight="bold")
        before = marker.ahead + ride.sensor.behind
        which = "long marker" if marker.length > short else "marker"
        words(axes, x + 6.5, y - 4.2, f"brake {before:.0f} mm before" if not ride.sensor.wagon else
              f"{which} {before:.0f} mm before, {marker.length:g} mm{' long' if which == 'marker' else ''}", 8)
        y -= 9.8
    if len(shown) < len(ride.markers):
        words(axes, x, y, f"{len(ride.markers) - len(shown)} more: see firmware/ride.json", 8, color=MUTED)
        y -= 6
    early = max((marker.early for marker in ride.markers), default=0)
    paragraph(axes, x, y, (
        f"The track sensor rides on {missed}, which is left out: brake by hand when the locomotive's front comes to "
        "the brass, where no marker lies yet. Red: from there to the stop." if missed else
        "No track sensor is described: brake by hand when the locomotive's front comes to the brass. Red: from there "
        "to the stop." if not ride.sensor.wagon else
        "Counted along the track from the marker's near end to where the locomotive's front stands; the "
        f"sensor is on {ride.sensor.wagon}. The train halts up to {early:.1f} mm early, never late. Brass: marker; "
        "red: from it to the stop."),
        43, 7, color=MUTED)


def _ramp(drawn: "Figure", axes: "Axes", ride: RidePlan) -> None:
    heading(axes, LEFT, 110, "How to stop", WIDTH - 2 * LEFT)
    ramp, speed = ride.ramps.fall, ride.brakes_from
    draw_ramp(inset(drawn, LEFT + 9, 70, 92, 33), ride, speed)
    x, y = 122.0, 101.5
    words(axes, x, y, f"{ramp.time:.2f} s, {ramp.way(speed, 0):.0f} mm", 15, family=SERIF, weight="bold", color=GREEN)
    phases = " and ".join(f"{phase:.2f}" for phase in ramp.phases)
    shape = ("braking evenly." if not ramp.phases else "braking grows and fades gently." if not ride.cups else
             f"braking shaped to the slosh period, {phases} s: the drink comes to rest with the train.")
    # Which of its modules drives a train, if any, no description says.
    away = [plan.name for plan in ride.train.left_out if any(not one.battery and not one.looks_down
                                                             for _, one in plan.modules)]
    by = (f"If what drives the train rides on {', '.join(away)}, left out: till then brake evenly by hand." if away else
          f"A controller does it with firmware/ride.h{' and train.c' if ride.sensor.wagon else ', started by hand'}; "
          "without one brake evenly by hand.")
    y = paragraph(axes, x, y - 5.6, f"from {down(speed, 0)} mm/s to standstill; {shape} {by}", 48, 8)
    if ride.swings:
        _climbs(axes, ride, x, y - 1.2)


def _climbs(axes: "Axes", ride: RidePlan, x: float, y: float) -> None:
    """Draw as bars how high the liquid that climbs highest does so in each kind of stop."""
    worst = max(ride.swings, key=lambda swing: swing.climb)
    climbs = {swing.kind: swing.climb for swing in ride.swings if swing.liquid is worst.liquid}
    this, spilt = ride.train.description.ride.ramp, {swing.kind for swing in ride.swings if swing.spills}
    for kind, climb in climbs.items():
        long = 26 * climb / worst.climb
        axes.barh(y + 0.9, long, height=2.6, left=x + 22,
                  color=RED if kind in spilt else GREEN if kind == this else BRASS)
        words(axes, x, y, "this ramp" if kind == this else SAID[kind], 8)
        words(axes, x + 23.5 + long, y, f"{climb:.1f} mm{', spills' if kind in spilt else ''}", 8,
              weight="bold" if kind == this else "normal")
        y -= 4.6
    words(axes, x, y + 0.3, f"how high the drink climbs in the {cut(worst.liquid.label, CLIMBER)}", 7, color=MUTED)


def _size(said: Sequence[Caution], most: float, top: float) -> float:
    """Return how large letters [points], `most` at most, all cautions leave room for below `top` [mm]; 0 for none."""
    return next((size for size in CAUTION_SIZES if size <= most and min(_columns(said, size, top)[1]) > BOTTOM), 0.0)


def _cautions(axes: "Axes", said: Sequence[Caution], size: float, top: float) -> None:
    """Write the cautions in two columns."""
    for (title, text), (x, y) in zip(said, _columns(said, size, top)[0], strict=True):
        words(axes, x, y, title, size + 1, weight="bold")
        paragraph(axes, x, y - 1.46 * size * POINT, text, int(LETTERS / size), size)


def _pointed(axes: "Axes", said: Sequence[Caution]) -> None:
    """Write what there is to be careful of, and where it is told."""
    y = paragraph(axes, LEFT, CAUTIONS, "The second page tells how. Hang it beside this one and read it before guests "
                  "come.", 96, 10)
    for number, (title, _) in enumerate(said):
        words(axes, LEFT + number % 3 * 62, y - 2.5 - number // 3 * 7, title, 11, weight="bold")


def _columns(said: Sequence[Caution], size: float, top: float) -> tuple[list[tuple[float, float]], list[float]]:
    """Return where each caution begins (x, y) [mm] and how far down each of two columns reaches [mm], every one put
    into the column that has more room."""
    places: list[tuple[float, float]] = []
    down = [top, top]
    for _, text in said:
        side = 0 if down[0] >= down[1] else 1
        places.append(((LEFT, WIDTH / 2 + 2)[side], down[side]))
        lines = len(textwrap.wrap(text, int(LETTERS / size)))
        down[side] -= (1.46 + 1.38 * lines + 0.7) * size * POINT
    return places, down
