"""What a vehicle sweeps on its way over a track: how far every outline reaches to either side, and where."""

from dataclasses import dataclass

import numpy as np

from partgen.motion.guided import Vehicle, stand, stations
from partgen.motion.path import Path

STEP = 6.0              # mm between two stands that are looked at first
FINE = 0.25             # mm round the worst of them
EDGE = 3.0              # mm between two points of an edge: inside a curve of 100 mm it misses 0.01 mm


@dataclass(frozen=True, slots=True)
class Reach:
    """The farthest that anything reaches: `value` from the centre line [mm], at `station` [mm] on `piece`
    (index), by outline number `outline`, with the first axle at `front` [mm]."""

    value: float
    station: float
    piece: int
    outline: int
    front: float


@dataclass(frozen=True)
class Passage:
    """Where every point of a vehicle's outlines passes: station `s` and offset to the left `d` [mm], shape
    (stands, points); `owner` (points,) is the outline of each point; `bend` (stands,) the way the track turns
    there, 1 left, -1 right, 0 straight; `front` (stands,) [mm]."""

    path: Path
    vehicle: Vehicle
    points: np.ndarray
    owner: np.ndarray
    front: np.ndarray
    s: np.ndarray
    d: np.ndarray
    bend: np.ndarray

    def worst(self, side: str, outlines=None) -> Reach:
        """Return the farthest reach to one `side`: "inner", "outer" (of the curve), "left" or "right".

        On straight track both sides count for inner and outer. `outlines` limits it to these numbers.
        """
        mine = np.ones(len(self.owner), bool) if outlines is None else np.isin(self.owner, list(outlines))
        best = int(np.argmax(self.outward(side)[:, mine].max(axis=1)))
        near = self.front[best] + np.arange(-STEP, STEP + FINE / 2, FINE)
        close = passed(self.path, self.vehicle, self.points[mine], self.owner[mine], near)
        reach = close.outward(side)
        row, column = np.unravel_index(np.argmax(reach), reach.shape)
        return close.reach_of(reach, row, column)

    def beside(self, side: str, start: float, end: float, outlines) -> Reach | None:
        """Return the farthest reach to the "left" or "right" between two stations [mm], or None if nothing passes.

        A point counts when it passes within half a step of the stretch, on the safe side.
        """
        slack = max(STEP, EDGE) / 2
        s = self.folded()
        inside = (s >= start - slack) & (s <= end + slack) & np.isin(self.owner, list(outlines))[None, :]
        if not inside.any():
            return None
        reach = np.where(inside, self.outward(side), -np.inf)
        return self.reach_of(reach, *np.unravel_index(np.argmax(reach), reach.shape))

    def profile(self, side: str, bins: np.ndarray) -> np.ndarray:
        """Return the farthest reach to the "left" or "right" [mm] within each of `bins` [mm], -inf where nothing."""
        place = np.clip(np.searchsorted(bins, self.folded().ravel(), side="right") - 1, 0, len(bins) - 1)
        profile = np.full(len(bins), -np.inf)
        np.maximum.at(profile, place, self.outward(side).ravel())
        return profile

    def folded(self) -> np.ndarray:
        """Return the stations [mm], those of a closed track counted within one lap."""
        return np.mod(self.s, self.path.length) if self.path.closed else self.s

    def outward(self, side: str) -> np.ndarray:
        """Return how far each passing point reaches to `side` [mm], shape (stands, points)."""
        if side in ("left", "right"):
            return self.d if side == "left" else -self.d
        way = (self.bend if side == "inner" else -self.bend)[:, None]
        return np.where(way == 0, np.abs(self.d), self.d * way)

    def reach_of(self, reach, row, column) -> Reach:
        """Return one entry of `reach` (stands, points) with its place."""
        station = float(self.s[row, column])
        return Reach(float(reach[row, column]), station, int(self.path.piece_at(station)), int(self.owner[column]),
                     float(self.front[row]))


def send(path: Path, vehicle: Vehicle, outlines, step: float = STEP, everywhere: bool = False) -> Passage:
    """Send the vehicle over the track, entries, exits and reverse curves included.

    `outlines` is a sequence of (n, 2) closed polygons [mm] in the vehicle's axes. Their edges are followed
    every EDGE mm, so that the inside of a curve is met between the corners. With `everywhere` no stand is
    left out, not even where nothing changes from one to the next.
    """
    points, owner = followed(outlines)
    beyond = max(float(np.abs(points.real).max(initial=0.0)) - vehicle.base / 2, 0.0)
    front = stations(path, vehicle, step, beyond, thin=not everywhere)
    return passed(path, vehicle, points, owner, front)


def followed(outlines) -> tuple[np.ndarray, np.ndarray]:
    """Return points along all outlines, complex [mm], and the number of the outline each is from."""
    points, owner = [], []
    for number, outline in enumerate(outlines):
        corner = np.asarray(outline, dtype=float) @ (1, 1j)
        for start, along in zip(corner, np.roll(corner, -1) - corner):
            count = max(int(np.ceil(abs(along) / EDGE)), 1)
            points.append(start + along * np.arange(count) / count)
            owner.append(np.full(count, number))
    return np.concatenate(points), np.concatenate(owner)


def passed(path: Path, vehicle: Vehicle, points, owner, front) -> Passage:
    """Return where `points` (complex, vehicle's axes) pass with the first axle at stations `front` [mm]."""
    pose = stand(path, vehicle, front)
    s, d = path.project(pose.at(points), pose.station[:, None] + points.real[None, :])
    middle = np.sign(path.curvature(pose.station))
    ends = np.sign(path.curvature(pose.front)) + np.sign(path.curvature(2 * pose.station - pose.front))
    bend = np.where(middle != 0, middle, np.sign(ends))
    return Passage(path, vehicle, points, owner, pose.front, s, d, bend)
