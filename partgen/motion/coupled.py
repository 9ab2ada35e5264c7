"""Two coupled neighbours on a path, solved together: drawbar angles, gap between the bodies."""

from math import isfinite

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike

from partgen.motion.convex import corners_of, gaps
from partgen.motion.path import Path, Rowed
from partgen.motion.solve import Extreme, peak, root, summits
from partgen.motion.sweep import SPARE, STRETCH, Rows, notched, rows_of, step_for
from partgen.motion.vehicle import Stance, Vehicle, bogie_at, longer, stand

TOLERANCE = 0.05            # mm
_NEARLY = 0.98                  # share of the drawbar by which the follower may come closer than on a straight


class Link(Struct, frozen=True):
    """How two neighbours are coupled, all lengths above 0 [mm].

    front, rear: the vehicle that leads and the one that follows
    front_pivot: coupler pivot behind the leading vehicle's origin; rear_pivot: ahead of the follower's
    front_bar, rear_bar: drawbars of each, from pivot to where the two meet, pulled into one line
    front_arm, rear_arm: how far beyond the pivot of its near bogie the drawbar turns, where it turns on that bogie; 0
        where it turns on the body, at front_pivot or rear_pivot
    Raises ValueError for a length that is not, and for an arm without a bogie.
    """

    front: Vehicle
    rear: Vehicle
    front_pivot: float
    rear_pivot: float
    front_bar: float
    rear_bar: float
    front_arm: float = 0.0
    rear_arm: float = 0.0

    def __post_init__(self) -> None:
        for name in ("front_pivot", "rear_pivot", "front_bar", "rear_bar"):
            value = getattr(self, name)
            if not (isfinite(value) and value > 0):
                raise ValueError(f"{name} = {value} mm couples nothing: it must be above 0")
        for arm, vehicle in ((self.front_arm, self.front), (self.rear_arm, self.rear)):
            if arm and not vehicle.bogie:
                raise ValueError(f"an arm of {arm} mm stands on no bogie")

    @property
    def length(self) -> float:
        """From pivot to pivot [mm]."""
        return self.front_bar + self.rear_bar


class Pair(Rowed, frozen=True):
    """How coupled vehicles stand, arrays of one shape.

    `front`, `rear`: how each stands; `front_holds`, `rear_holds`: directions of what their drawbars turn on, body or
    bogie, complex [1]; `joint`: where the drawbars meet, complex [mm]; `ahead`: direction of the drawbars, complex [1].
    """

    front: Stance
    rear: Stance
    front_holds: np.ndarray
    rear_holds: np.ndarray
    joint: np.ndarray
    ahead: np.ndarray


class Coupled(Struct, frozen=True):
    """Two coupled vehicles over a whole path, on a closed one over one lap.

    A swing is a drawbar against the axis of what it turns on, body or bogie [rad], positive where it points to the left
    of the axis, seen along the way of travel: the largest either way, with its sign. `least_gap` is the nearest
    distance of the bodies [mm], negative by how deep they overlap. All stations are the joint's, where the
    drawbars meet.
    """

    worst_front_swing: Extreme
    worst_rear_swing: Extreme
    least_gap: Extreme


def couple(path: Path, link: Link, bodies: tuple[ArrayLike, ArrayLike], tolerance: float = TOLERANCE) -> Coupled:
    """Pull two coupled vehicles along the whole of `path`, their drawbars in one line.

    bodies: convex outlines of the leading and of the following vehicle, each (n, 2) in its own axes [mm]
    tolerance: how far straight lines between the places looked at may cut a curve [mm]; the worst places
        are found exactly in any case
    Raises ValueError for an outline that is not convex, and where the track is too tight for the pair.
    """
    shapes, step = (corners_of(bodies[0]), corners_of(bodies[1])), step_for(path, tolerance)
    rows, at = _looked_at(path, link, step)
    found = [summits(_quantity(kind, shapes, at)[0]) for kind in range(3)]
    own = np.repeat(range(3), [len(tops) for tops in found])

    def look(lead: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Return of every place's own quantity the badness and the value, and the joint's station."""
        at = pair(path, link, lead)
        station, _ = path.project(at.joint, lead - link.front.base / 2 - link.front_pivot - link.front_bar)
        bad, value = zip(*(_quantity(kind, shapes, at.some(own == kind)) for kind in range(3)), strict=True)
        return np.concatenate(bad), np.concatenate(value), station

    worst = peak(path, look, rows.lead[np.concatenate(found)], step)
    front, rear, gap = ([worst[k] for k in np.flatnonzero(own == kind)] for kind in range(3))
    return Coupled(max(front, key=lambda swing: abs(swing.value)), max(rear, key=lambda swing: abs(swing.value)),
                   min(gap, key=lambda one: one.value))


def reaches(path: Path, link: Link, ends: tuple[complex, complex],
            tolerance: float = TOLERANCE) -> tuple[Extreme, Extreme]:
    """Return the least and the greatest distance [mm] from a point of the leading vehicle to one of the following over
    the whole of `path`, their drawbars in one line.

    ends: the two points, x + yj [mm], each in its vehicle's own axes
    tolerance: as for `couple`
    Stations are the leading vehicle's point's. Raises ValueError where the track is too tight for the pair.
    """
    step = step_for(path, tolerance)
    rows, at = _looked_at(path, link, step)
    found = [summits(sign * _between(at, ends)[0]) for sign in (-1, 1)]
    signs = np.repeat((-1, 1), [len(tops) for tops in found])

    def look(lead: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Return of every place how bad it is, the distance and the first point's station."""
        far, here = _between(pair(path, link, lead), ends)
        station, _ = path.project(here, lead - link.front.base / 2 - link.front_pivot)
        return signs[:, None] * far, far, station

    worst = peak(path, look, rows.lead[np.concatenate(found)], step)
    return min(worst, key=lambda one: one.value), max(worst, key=lambda one: one.value)


def _between(at: Pair, ends: tuple[complex, complex]) -> tuple[np.ndarray, np.ndarray]:
    """Return how far [mm] the two points are apart, and where the first is, complex [mm]."""
    one, other = (stance.origin + end * stance.ahead for stance, end in zip((at.front, at.rear), ends, strict=True))
    return np.abs(one - other), one


def pair(path: Path, link: Link, lead: ArrayLike) -> Pair:
    """Return how two coupled vehicles stand, exact.

    lead: stations of the leading vehicle's leading guided point [mm], any shape
    The follower stands where its coupler pivot is `link.length` from the leader's.
    Raises ValueError where the track is too tight for them.
    """
    lead = np.asarray(lead, dtype=float)
    front = stand(path, link.front, lead)
    hook, _, front_holds = _pivot(path, front, link.front, front.rear, -link.front_pivot, -link.front_arm)
    guess = lead - (link.front.base - link.rear.base) / 2 - link.front_pivot - link.length - link.rear_pivot

    spans: np.ndarray | None = None

    def apart(x: np.ndarray) -> tuple[np.ndarray, np.ndarray, tuple]:
        nonlocal spans
        rear = stand(path, link.rear, guess - x, spans)
        spans = guess - x - rear.rear       # hardly changes from one round to the next
        eye, rate, holds = _pivot(path, rear, link.rear, guess - x, link.rear_pivot, link.rear_arm)
        return *longer(hook - eye, rate, link.length), (rear, hook - eye, holds)

    # The guess, as if the track were straight, lies ahead by what the curve under the pair adds to it.
    spare = link.length + link.front_pivot + link.rear_pivot
    x, (rear, reach, rear_holds) = root(apart, -_NEARLY * link.length, spare, np.zeros(lead.shape),
                            f"a drawbar of {link.length:g} mm")
    ahead = reach / link.length
    return Pair(front, rear, front_holds, rear_holds, hook - link.front_bar * ahead, ahead)


def _pivot(path: Path, stance: Stance, vehicle: Vehicle, station: np.ndarray, x: float, arm: float
           ) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return where a drawbar turns [mm], its rate as the guided point at `station` moves on [1], and the direction of
    what it turns on [1]: the body, `x` [mm] ahead of its origin, or the bogie there, an `arm` ahead of its pivot."""
    if not arm:
        return *stance.carry(x), stance.ahead
    pivot, rate, ahead, ahead_rate = bogie_at(path, vehicle.bogie, station)
    return pivot + arm * ahead, rate + arm * ahead_rate, ahead


def _looked_at(path: Path, link: Link, step: float) -> tuple[Rows, Pair]:
    """Return the places to look at, `step` [mm] apart at most, and how the pair stands there."""
    ahead = notched(STRETCH * link.front.bogie / 2 + SPARE)
    back = notched(ahead + STRETCH * ((link.front.base + link.rear.base) / 2 + link.front_pivot + link.length
                                       + link.rear_pivot + link.rear.bogie / 2))
    while True:
        rows = rows_of(path, back, ahead, step)
        at = pair(path, link, rows.lead)
        used = (rows.lead - at.rear.rear).max() + STRETCH * link.rear.bogie / 2
        if used <= back:
            return rows, at
        back = notched(used)


def _quantity(kind: int, shapes: tuple[np.ndarray, np.ndarray], at: Pair) -> tuple[np.ndarray, np.ndarray]:
    """Return how bad a quantity is, and the quantity: the front's swing 0 [rad], the rear's 1, or the gap 2 [mm]."""
    if kind < 2:
        swing = np.angle(at.ahead / (at.front_holds, at.rear_holds)[kind])
        return np.abs(swing), swing
    origin, ahead = (at.rear.origin - at.front.origin) / at.front.ahead, at.rear.ahead / at.front.ahead
    gap = gaps(*shapes, origin.ravel(), ahead.ravel()).reshape(ahead.shape)
    return -gap, gap
