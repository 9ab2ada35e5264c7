"""What a plan's curves are to a liquid: where the cups stand that bring it there, and the joints they pass."""

from collections.abc import Iterable
from functools import cached_property, lru_cache
from math import inf, pi
from typing import Self

import numpy as np
from msgspec import Struct
from msgspec.structs import astuple

from partgen.describe.track_tables import Track
from partgen.dynamics.liquids import Liquid
from partgen.dynamics.once import once
from partgen.dynamics.survey import path_of
from partgen.plan.train import TrainPlan

UNTURNED = 1e-3         # rad by which a lap may fail to come round


class OnTrack(Struct, frozen=True):
    """How high a liquid may rise as it runs [mm]: its `crest` over the level at rest, the most that `swings` of it
    anywhere, its `steady` lean in the sharpest curve, the `likely` crest, all swings in phases of their own, and what
    rail joints, its `jolts`, have in crest and swings."""

    crest: float = 0.0
    swings: float = 0.0
    steady: float = 0.0
    likely: float = 0.0
    jolts: float = 0.0

    @property
    def factor(self) -> float:
        """How many times as high as the steady lean it may rise in curves, 1 at least [1]."""
        return max(1.0, (self.crest - self.jolts) / self.steady) if self.steady else 1.0

    @classmethod
    def worst(cls, many: Iterable[Self]) -> Self:
        """Return the most of each that any of `many` has."""
        return cls(*(max(each) for each in zip(astuple(cls()), *map(astuple, many), strict=True)))


class Stand(Struct, frozen=True):
    """Where a cup stands on its wagon: `ahead` and `aside` of the wagon's middle, its guided points `base` and
    wheelbase of a `bogie`, 0 for none; `height` of its inner floor over the rails, radius of the wheels' `tread` and
    depth of their `flange` [mm]."""

    ahead: float
    aside: float
    base: float
    bogie: float = 0.0
    height: float = 0.0
    tread: float = 0.0
    flange: float = 0.0

    @property
    def wheelsets(self) -> tuple[np.ndarray, np.ndarray]:
        """How far each wheelset is behind the first [mm], and its share in the cup's place [1], complex: of what it
        does along its own way, and the imaginary part square to that, to the left."""
        front = 0.5 + self.ahead / self.base + 1j * self.aside / self.base
        if not self.bogie:
            return np.array([0.0, self.base]), np.array([front, 1 - front])
        return (np.array([0.0, self.bogie, self.base, self.base + self.bogie]),
                np.array([front, front, 1 - front, 1 - front]) / 2)

    @property
    def chords(self) -> dict[int, tuple[float, complex]]:
        """Chords of the wagon by the wheelset that follows at its rear end [mm], and the share of what does so [1]."""
        _, shares = self.wheelsets
        if not self.bogie:
            return {1: (self.base, shares[1])}
        return {1: (self.bogie, shares[1]), 2: (self.base, 2 * shares[2]), 3: (self.bogie, shares[3])}


CENTRE = Stand(0.0, 0.0, 1e-3)      # a cup that runs on the track's centre line


@once
def stands_of(train: TrainPlan, liquid: Liquid) -> tuple[Stand, ...]:
    """Return where on the train's wagons a kind of cup may stand, in inserts too; each alike once."""
    found: dict[Stand, None] = {}
    for plan in train.wagons:
        homes = {liquid.name, *(ring.seat for ring, _ in plan.inserts if ring.cup == liquid.name)}
        high, wheels = plan.deck_z + train.description.cup[liquid.name].floor, plan.wheelset
        found |= {Stand(seat.x, seat.y, plan.base, plan.gear.bogie_wheelbase, high, wheels.tread_diameter / 2,
                        wheels.flange_depth): None
                  for seat, _ in plan.cups if seat.cup in homes}
    return tuple(found) or (CENTRE,)


# ---- the plan as its joints

class Course(Struct, frozen=True, dict=True):
    """The joints of a plan at which the curvature changes, in running order, of a closed one from where a curve begins
    if any does: curvature `before` and `after` [1/mm], `heading` there [rad], way `since` the joint before [mm], of a
    closed plan's first one from the last one round; and the `length` of a closed plan [mm], 0 of an open one."""

    before: np.ndarray
    after: np.ndarray
    heading: np.ndarray
    since: np.ndarray
    length: float

    @cached_property
    def sharpest(self) -> float:
        """Largest curvature [1/mm]."""
        return float(np.abs([self.before, self.after]).max(initial=0.0))

    @property
    def stations(self) -> np.ndarray:
        """Way to each joint from the first [mm]."""
        return np.cumsum(self.since) - self.since[0]

    @cached_property
    def comes_round(self) -> bool:
        """Has a lap the direction that it began with, or the opposite?"""
        turned = float((self.before * self.since).sum()) if self.length else 0.0
        return abs((turned + pi / 2) % pi - pi / 2) < UNTURNED


@lru_cache(maxsize=256)
def course_of(track: Track, radius: float) -> Course:
    """Return the joints of a track's plan, curves sharper than `radius` [mm] eased to it, none at 0."""
    path, most = path_of(track), 1 / radius if radius else inf
    lengths = np.array([piece.length for piece in path.pieces])
    bends = np.clip([piece.curvature for piece in path.pieces], -most, most)
    before = np.append(bends[-1] if path.closed else 0.0, bends)
    after = np.append(bends, bends[0] if path.closed else 0.0)
    stations, headings = (np.append(0.0, np.cumsum(each)) for each in (lengths, lengths * bends))
    ends = slice(0, -1 if path.closed else None)        # a lap's end is its beginning
    where = np.flatnonzero((np.abs(after - before) > 1e-12)[ends])
    if path.closed and not len(where):
        where = np.array([0])                           # round and round: nothing changes, and still it leans
    # A lap is counted from where a curve begins, so that none is cut in two.
    first = where[np.argmin(np.abs(before[where]))] if path.closed and len(where) else 0
    where = np.concatenate([where[where >= first], where[where < first]])
    stations, headings = (one[where] + (where < first) * one[-1] for one in (stations, headings))
    since = np.diff(stations, prepend=stations[-1] - path.length if path.closed and len(where) else 0.0)
    return Course(before[where], after[where], headings, since, path.length if path.closed else 0.0)
