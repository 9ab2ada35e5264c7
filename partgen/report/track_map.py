"""The track seen from above: what the train sweeps and where it is tightest; the neighbours that come nearest; where
the stops and their markers lie."""

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from partgen.checks.track import ANYWHERE, SIDES, room
from partgen.describe.track_tables import Track
from partgen.dynamics.at_grade import crossed
from partgen.dynamics.markers import Marker
from partgen.dynamics.ride import RidePlan
from partgen.dynamics.survey import beside, body_of, pairs, path_of, place, play_of, runners, swept
from partgen.finding import down
from partgen.motion.coupled import pair
from partgen.motion.path import Path as Line
from partgen.plan.train import TrainPlan
from partgen.report import along
from partgen.report.sheet import BRASS, GREEN, INK, LINE, MUTED, OAK, PAPER, RED, plot, save

if TYPE_CHECKING:
    from matplotlib.axes import Axes

FREE, FILL = "#e9e0cc", "#efe3cb"
BED = 1.9               # of the gauge: how wide the ride card's track bed is
SHEET = 228.6, 162.56   # mm


# ---- what the train sweeps


def draw_track(train: TrainPlan, path: Path) -> None:
    """Draw the train's plan view to a PNG or SVG, by the suffix of `path`."""
    track = train.description.track
    line = path_of(track)
    marks = along.marks(0.0, line.length)
    least = min(band.half_width for band in track.clearance)
    with plot(*SHEET) as (drawn, axes):
        along.ribbon(axes, line, marks, least, least, color=FREE, label="free room beside the track", zorder=0)
        left, right = (_reach(train, side, marks) for side in ("left", "right"))
        along.ribbon(axes, line, marks, left, right, color=GREEN, alpha=0.45, label="swept by the train", zorder=2)
        along.rails(axes, line, marks, track.gauge, color=MUTED, linewidth=1.1, zorder=3)
        for rail in (rail for both in along.other_way(track, line) for rail in both):
            along.stroke(axes, rail, color=MUTED, linewidth=1.1, zorder=3)
        _crossings(axes, line, track)
        if track.spacing is not None:
            second = beside(track).point(np.linspace(0, beside(track).length, len(marks)))
            axes.plot(*second.T, color=MUTED, linewidth=0.9, linestyle="--", label="second track", zorder=1)
        _obstacles(axes, line, track)
        _tightest(axes, train, line)
        axes.set(xlabel="mm", aspect="equal", title=f"{train.description.title}: the track from above")
        axes.legend(frameon=False, fontsize=9, loc="best")
        save(drawn, path)


def _reach(train: TrainPlan, side: str, marks: np.ndarray) -> np.ndarray:
    """Return the train's farthest reach to one side [mm] at each mark."""
    track = train.description.track
    found = [swept(track, one.base, one.bogie, one.outlines, (ANYWHERE,), one.play) for one in runners(train)]
    return np.max([one[ANYWHERE][1].at(side, marks) for one in found if one] or [np.zeros(len(marks))], axis=0)


def _crossings(axes: "Axes", line: Line, track: Track) -> None:
    """Mark every crossing once, with its angle, where its ways are farthest apart."""
    for one in crossed(track):
        if one.other is None or one.station < one.other:
            point, wide = complex(line.frame(one.station)[0]), along.between_ways(line, one)
            axes.annotate(f"crossing, {one.angle:g}°", along.at(point), along.at(
                point + 4.5 * track.gauge * wide), fontsize=9, va="center", zorder=6,
                ha="left" if wide.real > 0 else "right",
                arrowprops={"arrowstyle": "-", "color": INK, "linewidth": 0.6})


def _obstacles(axes: "Axes", line: Line, track: Track) -> None:
    for thing in track.obstacle:
        outline = along.obstacle(line, thing)
        along.fill(axes, outline, color=INK, zorder=4)
        axes.annotate(thing.name, along.at(outline[-1]), fontsize=9, xytext=(4, 4), textcoords="offset points")


def _tightest(axes: "Axes", train: TrainPlan, line: Line) -> None:
    """Mark the place where the smallest room is left beside a wagon."""
    track = train.description.track
    free = room(track)
    spots = [(free[band] - getattr(envelope, side).value, plan.name, getattr(envelope, side))
             for plan in train.wagons
             for band, (_, envelope) in (swept(track, plan.base, plan.gear.bogie_wheelbase, plan.outlines,
                                               tuple(free), play_of(plan, train.description)) or {}).items()
             for side in SIDES.values()]
    if not spots:
        return
    left, name, reach = min(spots, key=lambda one: one[0])
    x, y = line.point(reach.station)
    axes.plot(x, y, "o", color=RED, markersize=8, zorder=5)
    axes.annotate(f"tightest: {name}, {left:.1f} mm left\nat {reach.station:.0f} mm, piece {reach.piece + 1}", (x, y),
                  xytext=(14, -26), textcoords="offset points", fontsize=9, color=RED, zorder=6,
                  bbox={"boxstyle": "round,pad=0.3", "fc": "white", "ec": RED, "lw": 0.6, "alpha": 0.95})


# ---- the neighbours that come nearest


def draw_nearest(train: TrainPlan, path: Path) -> bool:
    """Draw the two neighbours whose bodies come nearest, at that place, to a PNG or SVG; say whether there are any
    that the track is not too tight for."""
    line = path_of(train.description.track)
    pulled = [(one.coupled.least_gap, one) for one in pairs(train) if one.coupled]
    if not pulled:
        return False
    least, nearest = min(pulled, key=lambda one: one[0].value)
    stood = pair(line, nearest.link, np.array(least.lead))
    half = 1.3 * (nearest.front.length + nearest.rear.length)
    with plot(*SHEET) as (drawn, axes):
        along.rails(axes, line, np.linspace(least.station - half, least.station + half, 200),
                    train.description.track.gauge, color=MUTED, linewidth=1.6, zorder=1)
        hooks = []
        for runner, stand, end in ((nearest.front, stood.front, -1), (nearest.rear, stood.rear, 1)):
            z, way = complex(stand.origin), complex(stand.ahead)
            along.fill(axes, np.array(body_of(runner)) @ (1, 1j) * way + z, facecolor=FILL, edgecolor=INK,
                       linewidth=1.2, zorder=2)
            axes.annotate(str(runner.who), along.at(z), ha="center", va="center", zorder=4)
            hooks.append(z + way * end * runner.pivot)
        along.stroke(axes, hooks, "o-", color=BRASS, linewidth=4, markersize=6, zorder=3)
        axes.set(xlabel="mm", aspect="equal",
                 title=f"{nearest.who}: {least.value:.1f} mm apart {place(line, least.station)}")
        save(drawn, path)
    return True


# ---- the stops and their markers, on the ride card


def draw_stops(axes: "Axes", ride: RidePlan) -> None:
    """Draw the plan from above: track, slow stretches, markers in brass, numbered stops, the train at the first."""
    gauge, line = ride.train.description.track.gauge, ride.path
    marks = along.marks(0.0, line.length)
    along.ribbon(axes, line, marks, BED * gauge / 2, BED * gauge / 2, color=LINE, alpha=0.55, zorder=1)
    ties = np.arange(0.0, line.length, gauge)
    along.stroke(axes, [along.beside(line, ties, side * 0.72 * gauge) for side in (1, -1)], color=OAK, alpha=0.55,
                 linewidth=0.9, zorder=2)
    _slow(axes, ride, gauge)
    along.rails(axes, line, marks, gauge, color=INK, linewidth=0.7, zorder=3)
    for rail in (rail for both in along.other_way(ride.train.description.track, line) for rail in both):
        along.stroke(axes, rail, color=INK, linewidth=0.7, zorder=3)
    _train(axes, ride)
    for number, marker in enumerate(ride.markers, 1):
        _marker(axes, ride, marker, number, gauge)
    tail, tip = along.beside(line, [0.0, 3.2 * gauge], 1.8 * gauge)      # where the plan starts
    axes.annotate("", along.at(tip), along.at(tail), zorder=6,
                  arrowprops={"arrowstyle": "-|>", "color": MUTED, "linewidth": 1.4})
    axes.set_aspect("equal")
    axes.margins(0.04)
    axes.set_axis_off()


def _slow(axes: "Axes", ride: RidePlan, gauge: float) -> None:
    """Tint the stretches that the train runs more slowly than elsewhere, and say how fast."""
    for zone in [zone for zone in ride.zones if zone.limit < ride.speed - 0.5]:
        along.ribbon(axes, ride.path, along.marks(zone.start, zone.end), BED * gauge / 2, BED * gauge / 2, color=BRASS,
                     alpha=0.5, zorder=1.5)
        at = along.beside(ride.path, zone.start + zone.length / 2, 2.3 * gauge)
        axes.annotate(down(zone.limit, 0), along.at(at), fontsize=8, color=INK, ha="center", va="center", zorder=7)


def _train(axes: "Axes", ride: RidePlan) -> None:
    """Draw locomotive and wagons where they stand at the first marked stop."""
    for number, corners in enumerate(along.standing(ride.train, ride.path, ride.markers[0].station)):
        along.fill(axes, corners, facecolor=OAK if number else GREEN, edgecolor=INK, alpha=0.75, linewidth=0.6,
                   zorder=3.5)


def _marker(axes: "Axes", ride: RidePlan, marker: Marker, number: int, gauge: float) -> None:
    """Draw one stop with its number, its marker across the track and the braking between them."""
    begins = marker.begins if not ride.lap or marker.begins <= marker.station else marker.begins - ride.lap
    along.stroke(axes, along.beside(ride.path, np.linspace(begins, marker.station, 60), 0.0), color=RED, linewidth=1.6,
          linestyle=(0, (2, 1.2)), zorder=4)
    along.stroke(axes, along.beside(ride.path, begins, (-0.9 * gauge, 0.9 * gauge)), color=BRASS, linewidth=4,
          solid_capstyle="butt", zorder=6)
    end = along.beside(ride.path, marker.station, (-2.4 * gauge, 0.9 * gauge))
    along.stroke(axes, end, color=GREEN, linewidth=1.4, zorder=4)
    along.stroke(axes, end[:1], "o", color=GREEN, markersize=13, zorder=7, clip_on=False)
    axes.annotate(str(number), along.at(end[0]), color=PAPER, fontsize=9, weight="bold", ha="center",
                  va="center_baseline", zorder=8)
