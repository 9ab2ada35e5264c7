"""Two coupled neighbours on a track, solved together: drawbar angles, gap between the bodies, side offset."""

from dataclasses import dataclass

import numpy as np

from partgen.motion.path import Path
from partgen.motion.guided import Pose, Vehicle, stand, stations

STEP = 4.0              # mm between two stands
_ROUNDS = 40
_CLOSE = 1e-9           # mm


@dataclass(frozen=True, slots=True)
class End:
    """One vehicle of a pair: `pivot` of its coupler from its middle [mm, towards the other], `length` and
    `width` of its body [mm]."""

    vehicle: Vehicle
    pivot: float
    length: float
    width: float


@dataclass(frozen=True, slots=True)
class Coupled:
    """A pair over all stands, one an entry: `station` of the leading vehicle's middle [mm], drawbar angle
    against the leading and the trailing vehicle [rad], nearest distance of the bodies [mm, negative: they
    overlap], and how far the drawbars' middle lies left of the centre line [mm]."""

    path: Path
    station: np.ndarray
    lead_angle: np.ndarray
    trail_angle: np.ndarray
    gap: np.ndarray
    side: np.ndarray
    lead: Pose
    trail: Pose


def couple(path: Path, lead: End, trail: End, reach: float, step: float = STEP) -> Coupled:
    """Send a pair over the track whose coupler pivots stand exactly `reach` apart [mm]: pulled straight.

    The trailing vehicle's place is found for every stand of the leading one; nothing is steady state.
    """
    beyond = lead.length / 2 + trail.length + reach
    front = stations(path, lead.vehicle, step, beyond)
    ahead = stand(path, lead.vehicle, front)
    hook = ahead.middle - ahead.ahead * lead.pivot
    behind = _follow(path, trail, hook, ahead, lead.pivot + reach + trail.pivot, reach)
    eye = behind.middle + behind.ahead * trail.pivot
    bar = (hook - eye) / reach
    _, side = path.project((hook + eye) / 2, (ahead.station + behind.station) / 2)
    return Coupled(path, ahead.station, np.angle(bar / ahead.ahead), np.angle(bar / behind.ahead),
                   _gap(ahead, lead, behind, trail), side, ahead, behind)


def _follow(path, trail, hook, ahead, distance, reach):
    """Return the trailing vehicle's stands whose front pivot is exactly `reach` behind `hook`."""
    vehicle = trail.vehicle
    front = ahead.station - distance + (vehicle.base + vehicle.bogie) / 2
    for _ in range(_ROUNDS):
        pose = stand(path, vehicle, front)
        chord = hook - (pose.middle + pose.ahead * trail.pivot)
        length = np.abs(chord)
        slope = np.maximum((np.conj(chord) * pose.ahead).real / np.maximum(length, 1e-9), 0.3)
        step = np.clip((length - reach) / slope, -reach, reach)
        if np.max(np.abs(step)) < _CLOSE:
            break
        front = front + step
    return pose


def _corners(pose, end: End) -> np.ndarray:
    """Return the body's four corners, counter-clockwise, shape (n, 4)."""
    x, y = end.length / 2, end.width / 2
    return pose.at(np.array([x + 1j * y, -x + 1j * y, -x - 1j * y, x - 1j * y]))


def _gap(one, one_end, other, other_end) -> np.ndarray:
    """Return the nearest distance of two rectangles [mm]; where a corner lies inside, its depth as negative."""
    a, b = _corners(one, one_end), _corners(other, other_end)
    apart = np.minimum(_corner_to_edge(a, b), _corner_to_edge(b, a))
    deep = np.maximum(_depth(one, one_end, _with_ends(b)), _depth(other, other_end, _with_ends(a)))
    return np.where(deep > 0, -deep, apart)


def _corner_to_edge(corners, box) -> np.ndarray:
    """Return the least distance from any corner to any edge of a box, both (n, 4), shape (n,) [mm]."""
    start = box[:, None, :]
    along = np.roll(box, -1, axis=1)[:, None, :] - start
    away = corners[:, :, None] - start
    share = np.clip((np.conj(along) * away).real / np.abs(along) ** 2, 0, 1)
    return np.abs(away - share * along).min(axis=(1, 2))


def _with_ends(corners) -> np.ndarray:
    """Return corners (n, 4) with the middles of the body's two ends, (n, 6): equal bodies in line overlap there."""
    middles = (corners + np.roll(corners, -1, axis=1)) / 2
    return np.concatenate([corners, middles[:, 1::2]], axis=1)


def _depth(pose, end: End, points) -> np.ndarray:
    """Return how deep the deepest of `points` (n, k) lies in the body, negative outside, shape (n,) [mm]."""
    seen = (points - pose.middle[:, None]) * np.conj(pose.ahead[:, None])
    return np.minimum(end.length / 2 - np.abs(seen.real), end.width / 2 - np.abs(seen.imag)).max(axis=1)
