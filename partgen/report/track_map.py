"""The track seen from above: what the train sweeps and where it is tightest; the neighbours that come nearest; where
the stops and their markers lie."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike

from partgen.checks.track import ANYWHERE, SIDES, room
from partgen.describe.track_tables import Track
from partgen.dynamics.markers import Marker, places_of
from partgen.dynamics.ride import RidePlan
from partgen.dynamics.survey import beside, body_of, pairs, path_of, place, play_of, runners, swept
from partgen.finding import down
from partgen.motion.coupled import pair
from partgen.motion.path import Path as Line
from partgen.plan.train import TrainPlan
from partgen.report.sheet import BRASS, GREEN, INK, LINE, MUTED, OAK, PAPER, RED, plot, save

if TYPE_CHECKING:
    from matplotlib.axes import Axes

FREE, FILL = "#e9e0cc", "#efe3cb"
STEP = 8.0              # mm of track between two drawn points
BED = 1.9               # of the gauge: how wide the ride card's track bed is
SHEET = 228.6, 162.56   # mm


# ---- what the train sweeps


def draw_track(train: TrainPlan, path: Path) -> None:
    """Draw the train's plan view to a PNG or SVG, by the suffix of `path`."""
    track = train.description.track
    line = path_of(track)
    marks = _marks(0.0, line.length)
    least = min(band.half_width for band in track.clearance)
    with plot(*SHEET) as (drawn, axes):
        _ribbon(axes, line, marks, least, least, color=FREE, label="free room beside the track", zorder=0)
        left, right = (_reach(train, side, marks) for side in ("left", "right"))
        _ribbon(axes, line, marks, left, right, color=GREEN, alpha=0.45, label="swept by the train", zorder=2)
        _rails(axes, line, marks, track.gauge, color=MUTED, linewidth=1.1, zorder=3)
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


def _obstacles(axes: "Axes", line: Line, track: Track) -> None:
    for thing in track.obstacle:
        sign = 1 if thing.side == "left" else -1
        stations = np.linspace(thing.station, thing.station + max(thing.length, 10.0), 12)
        near, far = (_beside(line, stations, sign * d) for d in (thing.distance, thing.distance + 14))
        _fill(axes, np.concatenate([near, far[::-1]]), color=INK, zorder=4)
        axes.annotate(thing.name, _at(far[0]), fontsize=9, xytext=(4, 4), textcoords="offset points")


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
        _rails(axes, line, np.linspace(least.station - half, least.station + half, 200), train.description.track.gauge,
               color=MUTED, linewidth=1.6, zorder=1)
        hooks = []
        for runner, stand, end in ((nearest.front, stood.front, -1), (nearest.rear, stood.rear, 1)):
            z, way = complex(stand.origin), complex(stand.ahead)
            _fill(axes, np.array(body_of(runner)) @ (1, 1j) * way + z, facecolor=FILL, edgecolor=INK, linewidth=1.2,
                  zorder=2)
            axes.annotate(str(runner.who), _at(z), ha="center", va="center", zorder=4)
            hooks.append(z + way * end * runner.pivot)
        _draw(axes, hooks, "o-", color=BRASS, linewidth=4, markersize=6, zorder=3)
        axes.set(xlabel="mm", aspect="equal",
                 title=f"{nearest.who}: {least.value:.1f} mm apart {place(line, least.station)}")
        save(drawn, path)
    return True


# ---- the stops and their markers, on the ride card


def draw_stops(axes: "Axes", ride: RidePlan) -> None:
    """Draw the plan from above: track, slow stretches, markers in brass, numbered stops, the train at the first."""
    gauge, line = ride.train.description.track.gauge, ride.path
    marks = _marks(0.0, line.length)
    _ribbon(axes, line, marks, BED * gauge / 2, BED * gauge / 2, color=LINE, alpha=0.55, zorder=1)
    ties = np.arange(0.0, line.length, gauge)
    _draw(axes, [_beside(line, ties, side * 0.72 * gauge) for side in (1, -1)], color=OAK, alpha=0.55, linewidth=0.9,
          zorder=2)
    _slow(axes, ride, gauge)
    _rails(axes, line, marks, gauge, color=INK, linewidth=0.7, zorder=3)
    _train(axes, ride)
    for number, marker in enumerate(ride.markers, 1):
        _marker(axes, ride, marker, number, gauge)
    tail, tip = _beside(line, [0.0, 3.2 * gauge], 1.8 * gauge)      # where the plan starts
    axes.annotate("", _at(tip), _at(tail), arrowprops={"arrowstyle": "-|>", "color": MUTED, "linewidth": 1.4}, zorder=6)
    axes.set_aspect("equal")
    axes.margins(0.04)
    axes.set_axis_off()


def _slow(axes: "Axes", ride: RidePlan, gauge: float) -> None:
    """Tint the stretches that the train runs more slowly than elsewhere, and say how fast."""
    for zone in [zone for zone in ride.zones if zone.limit < ride.speed - 0.5]:
        _ribbon(axes, ride.path, _marks(zone.start, zone.end), BED * gauge / 2, BED * gauge / 2, color=BRASS, alpha=0.5,
                zorder=1.5)
        at = _beside(ride.path, zone.start + zone.length / 2, 2.3 * gauge)
        axes.annotate(down(zone.limit, 0), _at(at), fontsize=8, color=INK, ha="center", va="center", zorder=7)


def _train(axes: "Axes", ride: RidePlan) -> None:
    """Draw locomotive and wagons where they stand at the first marked stop."""
    train, loco = ride.train, ride.train.description.train.locomotive
    bodies = [(loco.length / 2, loco.length, loco.width, GREEN)]
    bodies += [(behind, plan.length, plan.width, OAK)
               for plan, behind in zip(train.wagons, places_of(train), strict=False)]     # the last place is its end
    for behind, length, width, colour in bodies:
        point, ahead = ride.path.frame(ride.markers[0].station - behind)
        corners = np.array([1, 1, -1, -1]) * length / 2 + 1j * np.array([1, -1, -1, 1]) * width / 2
        _fill(axes, point + ahead * corners, facecolor=colour, edgecolor=INK, alpha=0.75, linewidth=0.6, zorder=3.5)


def _marker(axes: "Axes", ride: RidePlan, marker: Marker, number: int, gauge: float) -> None:
    """Draw one stop with its number, its marker across the track and the braking between them."""
    begins = marker.begins if not ride.lap or marker.begins <= marker.station else marker.begins - ride.lap
    _draw(axes, _beside(ride.path, np.linspace(begins, marker.station, 60), 0.0), color=RED, linewidth=1.6,
          linestyle=(0, (2, 1.2)), zorder=4)
    _draw(axes, _beside(ride.path, begins, (-0.9 * gauge, 0.9 * gauge)), color=BRASS, linewidth=4,
          solid_capstyle="butt", zorder=6)
    end = _beside(ride.path, marker.station, (-2.4 * gauge, 0.9 * gauge))
    _draw(axes, end, color=GREEN, linewidth=1.4, zorder=4)
    _draw(axes, end[:1], "o", color=GREEN, markersize=13, zorder=7, clip_on=False)
    axes.annotate(str(number), _at(end[0]), color=PAPER, fontsize=9, weight="bold", ha="center",
                  va="center_baseline", zorder=8)


# ---- lines and areas along the track; points are complex [mm]


def _marks(start: float, end: float) -> np.ndarray:
    return np.linspace(start, end, max(int((end - start) / STEP), 2))


def _beside(line: Line, stations: ArrayLike, offset: ArrayLike) -> np.ndarray:
    """Return the points at `offset` to the left of the line at stations [mm]; one of the two may be single."""
    point, ahead = line.frame(stations)
    return point + 1j * ahead * np.asarray(offset)


def _rails(axes: "Axes", line: Line, marks: np.ndarray, gauge: float, **look: Any) -> None:
    for side in (-1, 1):
        _draw(axes, _beside(line, marks, side * gauge / 2), **look)


def _ribbon(axes: "Axes", line: Line, marks: np.ndarray, left: ArrayLike, right: ArrayLike, **look: Any) -> None:
    """Fill what lies between two offsets [mm], one to either side."""
    edges = _beside(line, marks, left), _beside(line, marks, -np.asarray(right))[::-1]
    _fill(axes, np.concatenate(edges), linewidth=0, **look)


def _draw(axes: "Axes", points: Sequence[complex] | Sequence[np.ndarray] | np.ndarray, *form: str, **look: Any) -> None:
    z = np.asarray(points)
    axes.plot(z.real, z.imag, *form, **look)


def _fill(axes: "Axes", outline: np.ndarray, **look: Any) -> None:
    axes.fill(outline.real, outline.imag, **look)


def _at(point: complex | np.ndarray) -> tuple[float, float]:
    return float(np.real(point)), float(np.imag(point))
