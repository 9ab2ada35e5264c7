"""Where a vehicle stands on a track: exact chords of the centre line, thousands of stations at once.

Points are complex numbers, as in `path.py`.
"""

from dataclasses import dataclass

import numpy as np

from partgen.motion.path import Path

_ROUNDS = 30
_CLOSE = 1e-10          # mm


@dataclass(frozen=True, slots=True)
class Vehicle:
    """A vehicle guided at two points `base` apart [mm]: two axles, or the pivots of two bogies whose own
    axles stand `bogie` apart [mm] on the track (0: two axles)."""

    base: float
    bogie: float = 0.0


@dataclass(frozen=True, slots=True)
class Pose:
    """Stands of a vehicle, one an entry: middle between the guided points [mm], direction ahead [1], station
    of its first axle [mm] and about the station of its middle [mm]."""

    middle: np.ndarray
    ahead: np.ndarray
    front: np.ndarray
    station: np.ndarray

    def at(self, points) -> np.ndarray:
        """Return points (m,) of the vehicle's axes, complex [mm], where they then are, shape (n, m)."""
        return self.middle[:, None] + self.ahead[:, None] * np.asarray(points)[None, :]


def _newton(path_point, target, s, distance):
    """Return stations whose points lie exactly `distance` from `target`, from a first guess `s` behind it.

    `path_point` gives point and direction at a station. The chord grows by about 1 mm a millimetre of track;
    the slope is kept above 0.2 so that a bad guess cannot throw the next one away.
    """
    for _ in range(_ROUNDS):
        point, ahead = path_point(s)
        chord = target - point
        length = np.abs(chord)
        slope = np.maximum((np.conj(chord) * ahead).real / np.maximum(length, 1e-9), 0.2)
        step = np.clip((length - distance) / slope, -distance, distance)
        s = s + step
        if np.max(np.abs(step), initial=0.0) < _CLOSE:
            break
    return s


def behind(path: Path, front, distance: float) -> np.ndarray:
    """Return the station behind each of `front` [mm] whose point lies at the straight `distance` [mm] of it."""
    front = np.asarray(front, dtype=float)
    return _newton(path.frame, path.frame(front)[0], front - distance, distance) if distance else front.copy()


def pivot(path: Path, front, bogie: float) -> tuple[np.ndarray, np.ndarray]:
    """Return the middle of a bogie [mm] and its direction [1] whose first axle is at station `front` [mm]."""
    first, ahead = path.frame(front)
    if not bogie:
        return first, ahead
    rear = path.frame(behind(path, front, bogie))[0]
    return (first + rear) / 2, (first - rear) / bogie


def stand(path: Path, vehicle: Vehicle, front) -> Pose:
    """Return the vehicle's stands with its first axle at stations `front` [mm].

    The rear guided point is found so that it lies exactly `base` behind the front one.
    """
    front = np.atleast_1d(np.asarray(front, dtype=float))
    lead = pivot(path, front, vehicle.bogie)[0]
    trail = _newton(lambda s: pivot(path, s, vehicle.bogie), lead, front - vehicle.base, vehicle.base)
    rear = pivot(path, trail, vehicle.bogie)[0]
    return Pose((lead + rear) / 2, (lead - rear) / np.abs(lead - rear), front, (front + trail - vehicle.bogie) / 2)


def swings(path: Path, vehicle: Vehicle, front) -> tuple[np.ndarray, np.ndarray]:
    """Return the angles [rad] of the front and the rear bogie against the body, left positive."""
    pose = stand(path, vehicle, front)
    trail = 2 * pose.station + vehicle.bogie - pose.front
    return tuple(np.angle(pivot(path, at, vehicle.bogie)[1] / pose.ahead) for at in (pose.front, trail))


def stations(path: Path, vehicle: Vehicle, step: float, beyond: float = 0.0,
             thin: bool = True) -> np.ndarray:
    """Return stations of the first axle [mm], about `step` apart, that take the vehicle over the whole track.

    On an open track it enters and leaves by its own length and `beyond` [mm]. Where all of it lies on one
    arc or straight, its stand is the same at every station: one of them stands for all, unless `thin` is false.
    """
    reach = vehicle.base + vehicle.bogie + 2 * beyond
    start, end = (0.0, path.length) if path.closed else (-beyond, path.length + reach)
    s = np.arange(start, end, step)
    if not thin:
        return s
    bend = path.curvature(s)
    same = (path.piece_at(s + beyond + step) == path.piece_at(s - reach - step)) & (
        path.curvature(s - reach / 2) == bend)
    return s[~same | ~np.r_[False, same[:-1]]]
