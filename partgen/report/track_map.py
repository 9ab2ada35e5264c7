"""The track seen from above: what the train sweeps, what stands beside it, and where it is tightest."""

from pathlib import Path

import numpy as np

from partgen.checks.throw import ANYWHERE, SIDES, room
from partgen.motion.coupled import pair
from partgen.plan.survey import BODY, beside, body_of, pairs, path_of, place, runners, swept
from partgen.report.sheet import save

INK, RAIL, SWEPT, FREE, ALERT = "#2b2a27", "#6b665a", "#2f5d4a", "#e9e0cc", "#a3312a"
FILL, BAR = "#efe3cb", "#bd9149"
BIN = 8.0               # mm of track between two points of the drawn edge


def draw(train, path: Path) -> None:
    """Draw the train's plan view to a PNG or SVG, by the suffix of `path`; the bytes repeat."""
    figure, axes = _canvas()
    track = train.description.track
    line = path_of(track)
    marks = np.linspace(0.0, line.length, max(int(line.length / BIN), 2))
    least = min(band.half_width for band in track.clearance)
    _ribbon(axes, line, marks, least, least, color=FREE, label="free room beside the track", zorder=0)
    left, right = (_reach(train, side, marks) for side in ("left", "right"))
    _ribbon(axes, line, marks, left, right, color=SWEPT, alpha=0.45, label="swept by the train", zorder=2)
    for shift in (-1, 1):
        axes.plot(*_beside(line, marks, shift * track.gauge / 2).T, color=RAIL, linewidth=1.1, zorder=3)
    if track.spacing is not None:
        axes.plot(*beside(track).point(np.linspace(0, beside(track).length, len(marks))).T, color=RAIL, linewidth=0.9,
                  linestyle="--", label="second track", zorder=1)
    _obstacles(axes, line, track)
    _tightest(axes, train, line)
    axes.set_aspect("equal")
    axes.set_title(f"{train.title}: the track from above", loc="left", color=INK)
    axes.legend(frameon=False, fontsize=9, loc="best")
    _save(figure, path)


def draw_pair(train, path: Path) -> bool:
    """Draw the two neighbours whose bodies come nearest, at that place, to a PNG or SVG; say whether there are any."""
    figure, axes = _canvas()
    track = train.description.track
    line = path_of(track)
    pulled = [pair for pair in pairs(train) if pair.coupled]
    if not pulled:
        return False
    nearest = min(pulled, key=lambda one: one.coupled.least_gap[BODY].value)
    least = nearest.coupled.least_gap[BODY]
    stood = pair(line, nearest.link, np.array(least.lead))
    half = 1.3 * (nearest.front.length + nearest.rear.length)
    marks = np.linspace(least.station - half, least.station + half, 200)
    for shift in (-1, 1):
        axes.plot(*_beside(line, marks, shift * track.gauge / 2).T, color=RAIL, linewidth=1.6, zorder=1)
    hooks = []
    for runner, stand, end in ((nearest.front, stood.front, -1), (nearest.rear, stood.rear, 1)):
        z, way = complex(stand.origin), complex(stand.ahead)
        shape = np.array(body_of(runner)) @ (1, 1j) * way + z
        axes.fill(shape.real, shape.imag, facecolor=FILL, edgecolor=INK, linewidth=1.2, zorder=2)
        axes.annotate(str(runner.who), (z.real, z.imag), ha="center", va="center", color=INK, zorder=4)
        hooks.append(z + way * end * runner.pivot)
    axes.plot([h.real for h in hooks], [h.imag for h in hooks], "o-", color=BAR, linewidth=4, markersize=6, zorder=3)
    axes.set_aspect("equal")
    axes.set_title(f"{nearest.who}: {least.value:.1f} mm apart {place(line, least.station)}", loc="left", color=INK)
    _save(figure, path)
    return True


def _canvas():
    """Return a figure and axes of our look; nothing of it needs a display."""
    import matplotlib
    matplotlib.use("Agg")
    from matplotlib import pyplot
    matplotlib.rcParams |= {"svg.hashsalt": "partgen", "text.parse_math": False}      # "$" is one in a name
    figure, axes = pyplot.subplots(figsize=(9, 6.4), layout="constrained")
    axes.spines[["top", "right"]].set_visible(False)
    axes.set_xlabel("mm")
    return figure, axes


def _save(figure, path: Path) -> None:
    """Write the figure complete or not at all, without date or version, so that its bytes repeat."""
    from matplotlib import pyplot
    save(figure, path)
    pyplot.close(figure)


def _beside(line, marks, offset) -> np.ndarray:
    """Return points (n, 2) [mm] at `offset` to the left of the line at stations `marks`."""
    point, ahead = line.frame(marks)
    z = point + 1j * ahead * offset
    return np.column_stack([z.real, z.imag])


def _ribbon(axes, line, marks, left, right, **look):
    outline = np.vstack([_beside(line, marks, left), _beside(line, marks, -np.asarray(right))[::-1]])
    axes.fill(*outline.T, linewidth=0, **look)


def _reach(train, side, marks) -> np.ndarray:
    """Return the train's farthest reach to one side [mm] at each mark."""
    track = train.description.track
    found = [swept(track, one.base, one.bogie, one.outlines, (ANYWHERE,)) for one in runners(train)]
    return np.max([one[ANYWHERE][1].at(side, marks) for one in found if one] or [np.zeros(len(marks))], axis=0)


def _obstacles(axes, line, track):
    for thing in track.obstacle:
        sign = 1 if thing.side == "left" else -1
        stations = np.linspace(thing.station, thing.station + max(thing.length, 10.0), 12)
        near, far = (_beside(line, stations, sign * d) for d in (thing.distance, thing.distance + 14))
        axes.fill(*np.vstack([near, far[::-1]]).T, color=INK, zorder=4)
        axes.annotate(thing.name, far[0], fontsize=9, color=INK, xytext=(4, 4), textcoords="offset points")


def _tightest(axes, train, line):
    """Mark the place where the smallest room is left beside a wagon."""
    track = train.description.track
    free = room(track)
    spots = [(free[band] - getattr(envelope, side).value, plan.name, getattr(envelope, side))
             for plan in train.wagons
             for band, (_, envelope) in (swept(track, plan.base, plan.bogie_wheelbase, plan.outlines,
                                               tuple(free)) or {}).items()
             for side in SIDES.values()]
    if not spots:
        return
    left, name, reach = min(spots, key=lambda one: one[0])
    x, y = line.point(reach.station)
    axes.plot(x, y, "o", color=ALERT, markersize=8, zorder=5)
    axes.annotate(f"tightest: {name}, {left:.1f} mm left\nat {reach.station:.0f} mm, piece {reach.piece + 1}", (x, y),
                  xytext=(14, -26), textcoords="offset points", fontsize=9, color=ALERT, zorder=6,
                  bbox={"boxstyle": "round,pad=0.3", "fc": "white", "ec": ALERT, "lw": 0.6, "alpha": 0.95})
