"""Lines and areas along the track, seen from above, for maps and drawings; points are complex [mm]."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike

from partgen.describe.track_tables import Obstacle, Track
from partgen.dynamics.at_grade import Passage, crossed
from partgen.dynamics.markers import places_of
from partgen.motion.path import Path as Line
from partgen.plan.train import TrainPlan

if TYPE_CHECKING:
    from matplotlib.axes import Axes

STEP = 8.0              # mm of track between two drawn points
THICK = 14.0            # mm: how thick what stands beside the track is drawn


def marks(start: float, end: float) -> np.ndarray:
    """Return stations near enough to each other to draw the line through [mm]."""
    return np.linspace(start, end, max(int((end - start) / STEP), 2))


def beside(line: Line, stations: ArrayLike, offset: ArrayLike) -> np.ndarray:
    """Return the points at `offset` to the left of the line at stations [mm]; one of the two may be single."""
    point, ahead = line.frame(stations)
    return point + 1j * ahead * np.asarray(offset)


def rails(axes: "Axes", line: Line, marks: np.ndarray, gauge: float, **look: Any) -> None:
    """Draw both rails' inner edges."""
    for side in (-1, 1):
        stroke(axes, beside(line, marks, side * gauge / 2), **look)


def other_way(track: Track, line: Line) -> Iterator[tuple[np.ndarray, np.ndarray]]:
    """Yield the two rails of the other way of every crossing, its inner edges, two points each.

    A crossing that the plan runs over twice has its other way drawn as the plan's: only what belongs to nobody, and so
    lies to either hand, is yielded; it is taken to lead off to the left.
    """
    for one in crossed(track):
        if one.other is None:
            point, ahead = (complex(found) for found in line.frame(one.station))
            way = ahead * np.exp(1j * np.radians(one.angle))
            ends = point + way * np.array([-0.5, 0.5]) * one.length
            yield ends + 0.5j * way * track.gauge, ends - 0.5j * way * track.gauge


def between_ways(line: Line, one: Passage) -> complex:
    """Return the direction [1] from a crossing's middle in which its two ways are farthest apart."""
    ahead = complex(line.frame(one.station)[1])
    other = ahead * np.exp(1j * np.radians(one.angle)) if one.other is None else complex(line.frame(one.other)[1])
    wide = ahead - other if (other / ahead).real >= 0 else ahead + other
    return complex(wide / abs(wide))


def ribbon(axes: "Axes", line: Line, marks: np.ndarray, left: ArrayLike, right: ArrayLike, **look: Any) -> None:
    """Fill what lies between two offsets [mm], one to either side."""
    edges = beside(line, marks, left), beside(line, marks, -np.asarray(right))[::-1]
    fill(axes, np.concatenate(edges), linewidth=0, **look)


def stroke(axes: "Axes", points: Sequence[complex] | Sequence[np.ndarray] | np.ndarray, *form: str,
           **look: Any) -> None:
    """Draw a line through points."""
    z = np.asarray(points)
    axes.plot(z.real, z.imag, *form, **look)


def fill(axes: "Axes", outline: np.ndarray, **look: Any) -> None:
    """Fill an outline."""
    axes.fill(outline.real, outline.imag, **look)


def at(point: complex | np.ndarray) -> tuple[float, float]:
    """Return a point as (x, y)."""
    return float(np.real(point)), float(np.imag(point))


def obstacle(line: Line, thing: Obstacle) -> np.ndarray:
    """Return the outline of what stands beside the track; nobody measured how thick it is."""
    sign = 1 if thing.side == "left" else -1
    stations = np.linspace(thing.station, thing.station + max(thing.length, 10.0), 12)
    near, far = (beside(line, stations, sign * d) for d in (thing.distance, thing.distance + THICK))
    return np.concatenate([near, far[::-1]])


def standing(train: TrainPlan, line: Line, front: float) -> Iterator[np.ndarray]:
    """Yield the corners of locomotive and wagons, front to back, where they stand with the locomotive's front at a
    station [mm]."""
    loco = train.description.train.locomotive
    bodies = [(loco.length / 2, loco.length, loco.width)]
    bodies += [(behind, plan.length, plan.width)
               for plan, behind in zip(train.wagons, places_of(train), strict=False)]     # the last place is its end
    for behind, length, width in bodies:
        point, ahead = line.frame(front - behind)
        yield point + ahead * (np.array([1, 1, -1, -1]) * length / 2 + 1j * np.array([1, -1, -1, 1]) * width / 2)
