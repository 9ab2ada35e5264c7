"""How high the curves of a plan raise a liquid: what every joint leaves swinging, added up as if all met at worst.

Nobody knows speed times time to a tenth of a swing, so phases are not told: each entry and exit swings on in its own
direction, less the damping over the way since, and amounts are added in whichever direction they add up to most.
"""

from collections.abc import Iterable
from functools import cached_property, lru_cache
from math import cos, inf, pi
from typing import Self

import numpy as np
from msgspec import Struct
from msgspec.structs import astuple

from partgen.describe.track_tables import Track
from partgen.dynamics.liquids import Liquid
from partgen.dynamics.survey import path_of
from partgen.formulas.bends import entry_envelope, held_lean, joint_swings
from partgen.plan.train import TrainPlan

DIRECTIONS = 24         # of half a circle; what lies between two is 0.2 % more at most, and counted
LAPS = 20.0             # that count of an undamped swing: nothing else ends it
UNTURNED = 1e-3         # rad by which a lap may fail to come round
SPEEDS = np.geomspace(5.0, 4000.0, 670)     # mm/s: steps of 1 %
CHORD = 0.7             # of W/R: swing that the rear axle's uneven way leaves as the front one enters (CALC)


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
    wheelbase of a `bogie`, 0 for none; `height` of its inner floor over the rails and radius of the wheels' `tread`
    [mm]."""

    ahead: float
    aside: float
    base: float
    bogie: float = 0.0
    height: float = 0.0
    tread: float = 0.0

    @property
    def front(self) -> float:
        """Share of the front guided point in the cup's place [1]; the rear one has the rest."""
        return 0.5 + self.ahead / self.base

    @property
    def lever(self) -> float:
        """Share of their difference that moves it square to the track [1]."""
        return self.aside / self.base

    @property
    def first(self) -> float:
        """Most of a joint's swing that it takes on before the last wheelset has passed [1]; with bogies half of the
        rear one is in it."""
        return abs(self.front) + (abs(1 - self.front) / 2 if self.bogie else 0.0)

    @property
    def first_aside(self) -> float:
        """The same square to the joint's direction [1]."""
        return self.lever * (1.5 if self.bogie else 1.0)


CENTRE = Stand(0.0, 0.0, 1e-3)      # a cup that runs on the track's centre line


def stands_of(train: TrainPlan, liquid: Liquid) -> tuple[Stand, ...]:
    """Return where on the train's wagons a kind of cup may stand, in inserts too; each alike once."""
    found: dict[Stand, None] = {}
    for plan in train.wagons:
        homes = {liquid.name, *(ring.seat for ring, _ in plan.inserts if ring.cup == liquid.name)}
        high, tread = plan.deck_z + train.description.cup[liquid.name].floor, plan.wheelset.tread_diameter / 2
        found |= {Stand(seat.x, abs(seat.y), plan.base, plan.gear.bogie_wheelbase, high, tread): None
                  for seat, _ in plan.cups if seat.cup in homes}
    return tuple(found) or (CENTRE,)


# ---- the plan as its joints

class Course(Struct, frozen=True, dict=True):
    """The joints of a plan at which the curvature changes, in running order: curvature `before` and `after` [1/mm],
    `heading` there [rad], way `since` the joint before [mm]; of a closed plan from the last one round, and its
    `length` [mm], 0 of an open one."""

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
    def ahead(self) -> np.ndarray:
        """Way from each joint to the next [mm]; infinite beyond the last of an open plan."""
        return np.append(self.since[1:], self.since[0] if self.length else inf)

    @cached_property
    def across(self) -> np.ndarray:
        """Directions looked in, counted from square across the track at each joint, shape (joints, directions)."""
        return pi / DIRECTIONS * np.arange(DIRECTIONS) - self.heading[:, None] - pi / 2

    @cached_property
    def leaning(self) -> np.ndarray:
        """The most that the lean in the piece ahead shows of itself in each direction, shape as `across` [1]."""
        turned = self.after * np.minimum(self.ahead, 1e9)
        off = (self.across - turned[:, None] / 2 + pi / 2) % pi - pi / 2
        return np.cos(np.clip(np.abs(off) - np.abs(turned[:, None]) / 2, 0.0, None))

    @cached_property
    def comes_round(self) -> bool:
        """Has a lap the direction that it began with, or the opposite?"""
        turned = float((self.after * self.ahead).sum()) if self.length else 0.0
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
    since = np.diff(stations[where], prepend=stations[where[-1]] - path.length if path.closed else 0.0)
    return Course(before[where], after[where], headings[where], since, path.length if path.closed else 0.0)


# ---- a liquid on it

@lru_cache(maxsize=2048)
def on_curves(liquid: Liquid, stands: tuple[Stand, ...], track: Track, speed: float, radius: float = 0.0) -> OnTrack:
    """Return what the curves of the track's plan make of a liquid in cups that stand as told on their wagons, run at
    any speed up to `speed` [mm/s], laps repeated. Curves sharper than `radius` [mm] are taken to be eased to it, as
    they are run the more slowly; 0 takes the plan as it is."""
    course = course_of(track, radius)
    if not course.sharpest:
        return OnTrack()
    omegas, dampings, rises = liquid.modes
    lengthwise, square = (rises[:, None] * joint_swings(speed, course.before, course.after, course.across + turned,
                                                        omegas, dampings) for turned in (0.0, pi / 2))
    along, aside = _shares(liquid, stands, speed)
    chord = CHORD * course.sharpest * max(abs(0.5 * one.base - one.ahead) for one in stands)
    left = along[:, None] * lengthwise + (aside[:, None] + chord) * square
    within = np.maximum(along, max(one.first for one in stands))[:, None] * lengthwise + (
        np.maximum(aside, max(one.first_aside for one in stands))[:, None] + chord) * square
    # A joint that the next one follows within the wagon's own length still swings as it did half passed.
    soon = course.ahead < max(one.base + one.bogie for one in stands)
    left = np.where(soon[:, None, None], np.maximum(left, within), left)
    fades = np.exp(-np.outer(course.since, dampings * omegas) / speed)
    return _told(course, _leans(liquid, course, stands, speed), left, within, fades)


def _told(course: Course, leans: tuple[np.ndarray, np.ndarray], left: np.ndarray, within: np.ndarray,
          fades: np.ndarray) -> OnTrack:
    """Return the worst of all joints: `leans` in the piece ahead and as the wagon passes [mm], what each joint has
    `left` and what swings `within` its passing, shape (joints, modes, directions) [mm], and what share `fades`."""
    ahead, passing = leans
    carried = _carried(left, fades, course)
    after, during = (carried + left).sum(axis=1), (carried + within).sum(axis=1)
    crest = np.maximum(after + course.leaning * ahead[:, None], during + passing[:, None]).max()
    squares = left.max(axis=2, keepdims=True) ** 2
    likely = np.sqrt((_carried(squares, fades**2, course) + squares).sum(axis=(1, 2)))
    between = cos(pi / DIRECTIONS / 2)                  # of the directions looked in
    return OnTrack(float(crest) / between, float(np.maximum(after, during).max()) / between,
                    float(max(ahead.max(), passing.max())), float((likely + ahead).max()))


def _carried(left: np.ndarray, fades: np.ndarray, course: Course) -> np.ndarray:
    """Return what swings on from all joints before each, shape as `left`; of a closed plan from all laps before."""
    before, swinging = np.zeros_like(left), np.zeros_like(left[0])
    for lap in range(2 if course.length else 1):
        for joint, fade in enumerate(fades):
            before[joint] = swinging = swinging * fade[:, None]
            swinging = swinging + left[joint]
        if not lap and course.length:
            once = fades.prod(axis=0)[:, None]
            swinging = swinging if course.comes_round else swinging.max(axis=1, keepdims=True) + 0 * swinging
            swinging = swinging * np.minimum(1 / np.maximum(1 - once, 1e-9), LAPS)
    return before


def _shares(liquid: Liquid, stands: tuple[Stand, ...], speed: float) -> tuple[np.ndarray, np.ndarray]:
    """Return what share of a joint's swing each mode takes on, along and square to the joint's own direction [1]."""
    where = np.log(speed / SPEEDS[0]) / np.log(SPEEDS[1] / SPEEDS[0])
    at = min(int(where), len(SPEEDS) - 2)
    low, high = _envelope(liquid, stands)[:, at:at + 2].swapaxes(0, 1)
    along, aside = low + (where - at) * (high - low)
    return along, aside


@lru_cache(maxsize=512)
def _envelope(liquid: Liquid, stands: tuple[Stand, ...]) -> np.ndarray:
    """Return the same at all SPEEDS: the most of any stand, shape (2, speeds, modes)."""
    omegas, dampings, _ = liquid.modes
    return np.array([entry_envelope(SPEEDS, one.base, one.bogie, one.ahead, one.aside, omegas, dampings)
                     for one in stands]).max(axis=0)


def _leans(liquid: Liquid, course: Course, stands: tuple[Stand, ...], speed: float) -> tuple[np.ndarray, np.ndarray]:
    """Return how far the liquid leans steadily in the piece ahead of each joint, and at most as the wagon passes it
    [mm]; the pull in a curve is that at the cup's own distance from its centre."""
    omegas, dampings, rises = liquid.modes

    def pulled(bends: np.ndarray) -> np.ndarray:
        return speed**2 * np.abs(bends) * (np.abs(held_lean(speed * bends, omegas, dampings)) @ rises)

    here, old, bend = pulled(course.after), pulled(course.before), np.abs(course.after)
    farther = np.max([np.hypot(1 + one.aside * bend, one.ahead * bend) for one in stands], axis=0)
    passing = np.max([abs(one.front) * here + abs(1 - one.front) * old + one.lever * (here + old) for one in stands],
                     axis=0)
    return here * farther, passing
