"""Where a vehicle stands on a path: two points of it guided by the track, the body fixed to them."""

from math import isfinite, pi

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike

from partgen.motion.path import Path, Rowed
from partgen.motion.solve import root


class Vehicle(Struct, frozen=True):
    """What guides a vehicle.

    base: wheelbase of a two-axle vehicle, pivot spacing of a bogie vehicle [mm], above 0
    bogie: axle to axle within each bogie [mm], 0 for a two-axle vehicle
    Raises ValueError for anything else.
    """

    base: float
    bogie: float = 0.0

    def __post_init__(self) -> None:
        if not (isfinite(self.base) and self.base > 0):
            raise ValueError(f"a wheelbase or pivot spacing of {self.base} mm guides nothing: it must be above 0")
        if not (isfinite(self.bogie) and self.bogie >= 0):
            raise ValueError(f"a bogie wheelbase of {self.bogie} mm is none: it must be 0 or above")


class Stance(Rowed, frozen=True):
    """How vehicles stand, as complex arrays of one shape: origin [mm], direction of the x axis [1].

    `origin_rate` [1] and `ahead_rate` [1/mm] say how both change per mm that the leading station moves on;
    `rear` is the station of the trailing guided point [mm].
    """

    origin: np.ndarray
    ahead: np.ndarray
    origin_rate: np.ndarray
    ahead_rate: np.ndarray
    rear: np.ndarray

    def carry(self, x: float) -> tuple[np.ndarray, np.ndarray]:
        """Return the point `x` [mm] ahead of the origin on the vehicle's axis [mm], and its rate [1]."""
        return self.origin + x * self.ahead, self.origin_rate + x * self.ahead_rate


def stand(path: Path, vehicle: Vehicle, s: ArrayLike, spans: np.ndarray | None = None) -> Stance:
    """Stance a vehicle on `path` with its leading guided point at stations `s` [mm], any shape.

    spans: guess of the track between the guided points [mm], as if `s` were somewhere near; shape of `s`
    Exact: both guided points are where the track leads them, and `vehicle.base` apart.
    Raises ValueError where the track is too tight to hold it.
    """
    s = np.asarray(s, dtype=float)
    front, front_rate = _guided(path, vehicle.bogie, s)

    def chord(t: np.ndarray) -> tuple[np.ndarray, np.ndarray, tuple]:
        rear, rate = _guided(path, vehicle.bogie, s - t)
        return *longer(front - rear, rate, vehicle.base), (rear, rate)

    # A chord spans at most a half circle: at the tightest, the track under it is pi/2 chords long.
    t, (rear, rear_rate) = root(
        chord, 0.0, pi / 2 * vehicle.base + vehicle.bogie,
        _under(path, s - vehicle.base / 2, vehicle.base) if spans is None else spans,
        f"a wheelbase or pivot spacing of {vehicle.base:g} mm")
    reach = front - rear
    rear_rate = rear_rate * (_dot(reach, front_rate) / _dot(reach, rear_rate))
    return Stance((front + rear) / 2, reach / vehicle.base, (front_rate + rear_rate) / 2,
                 (front_rate - rear_rate) / vehicle.base, s - t)


def _dot(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Scalar product of plane vectors that are complex numbers."""
    return (a * np.conj(b)).real


def longer(reach: np.ndarray, rate: np.ndarray, length: float) -> tuple[np.ndarray, np.ndarray]:
    """Return by how much [mm] each reach is longer than `length`, and how that grows [1] as its hind end falls back.

    rate: how that end moves per mm of track [1]
    """
    far = np.abs(reach)
    return far - length, _dot(reach, rate) / far


def _guided(path: Path, bogie: float, s: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the guided points at stations `s` [mm] and their rates [1]: axles, or the pivots of bogies."""
    return bogie_at(path, bogie, s)[:2] if bogie else path.frame(s)


def bogie_at(path: Path, bogie: float, s: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Return where the pivots of bogies stand at stations `s` [mm], their rates [1], the directions of the bogies [1],
    and the rates of those [1/mm].

    bogie: axle to axle [mm], above 0; the axles stand on the path evenly about the pivot
    """

    def chord(u: np.ndarray) -> tuple[np.ndarray, np.ndarray, tuple]:
        (front, front_ahead), (rear, rear_ahead) = path.frame(s + u), path.frame(s - u)
        return *longer(front - rear, front_ahead + rear_ahead, bogie), (front, rear, front_ahead, rear_ahead)

    _, (front, rear, front_ahead, rear_ahead) = root(
        chord, 0.0, pi / 4 * bogie + 1e-6, _under(path, s, bogie) / 2, f"a bogie wheelbase of {bogie:g} mm")
    reach = front - rear
    # The axles part or close by this much as s moves on, so that their chord keeps its length.
    rate = -_dot(reach, front_ahead - rear_ahead) / _dot(reach, front_ahead + rear_ahead)
    front_rate, rear_rate = front_ahead * (1 + rate), rear_ahead * (1 - rate)
    return (front + rear) / 2, (front_rate + rear_rate) / 2, reach / bogie, (front_rate - rear_rate) / bogie


def _under(path: Path, s: np.ndarray, chord: float) -> np.ndarray:
    """Return how much track lies under a chord about `s`, as if it were all curved as there [mm]."""
    k = path.curvature(s)
    sine = np.clip(k * chord / 2, -1.0, 1.0)
    return np.where(k == 0, chord, 2 * np.arcsin(sine) / np.where(k == 0, 1.0, k))
