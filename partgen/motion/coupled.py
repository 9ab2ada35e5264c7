"""Two coupled neighbours on a path, solved together: drawbar angles, gap between the bodies."""

from collections.abc import Hashable, Mapping, Sequence
from math import isfinite
from types import MappingProxyType

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike

from partgen.motion.convex import corners_of, gaps
from partgen.motion.path import Path, Rowed
from partgen.motion.solve import peak, root, summits
from partgen.motion.sweep import Rows, notched, rows_of, step_for
from partgen.motion.vehicle import Stance, Vehicle, stand

TOLERANCE = 0.05            # mm
_STRETCH, _SPARE = 1.15, 4.0    # first guess of how much more track than train there is; mm
_NEARLY = 0.98                  # share of the drawbar by which the follower may come closer than on a straight
_TOPS = 3                       # extremes of each quantity that are looked at closely


class Link(Struct, frozen=True):
    """How two neighbours are coupled, all lengths above 0 [mm].

    front, rear: the vehicle that leads and the one that follows
    front_pivot: coupler pivot behind the leading vehicle's origin; rear_pivot: ahead of the follower's
    front_bar, rear_bar: drawbars of each, from pivot to where the two meet, pulled into one line
    Raises ValueError for a length that is not.
    """

    front: Vehicle
    rear: Vehicle
    front_pivot: float
    rear_pivot: float
    front_bar: float
    rear_bar: float

    def __post_init__(self) -> None:
        for name in ("front_pivot", "rear_pivot", "front_bar", "rear_bar"):
            value = getattr(self, name)
            if not (isfinite(value) and value > 0):
                raise ValueError(f"{name} = {value} mm couples nothing: it must be above 0")

    @property
    def length(self) -> float:
        """From pivot to pivot [mm]."""
        return self.front_bar + self.rear_bar


class Pair(Rowed, frozen=True):
    """How coupled vehicles stand, arrays of one shape.

    `front`, `rear`: how each stands; `joint`: where the drawbars meet, complex [mm]; `ahead`: direction of
    the drawbars, complex [1].
    """

    front: Stance
    rear: Stance
    joint: np.ndarray
    ahead: np.ndarray


class Extreme(Struct, frozen=True):
    """The worst of one quantity, and where.

    value: [rad] of a swing, [mm] of a gap; station: of the joint, where the drawbars meet [mm]; piece:
    index of its piece there; lead: station of the leading vehicle's leading guided point then [mm].
    """

    value: float
    station: float
    piece: int
    lead: float


class Coupled(Struct, frozen=True):
    """Two coupled vehicles over a whole path, on a closed one over one lap.

    A swing is a drawbar against its vehicle's axis [rad], positive where it points to the left of the
    axis, seen along the way of travel: the largest either way, with its sign. `least_gap` holds by band the
    nearest distance of the bodies [mm], negative by how deep they overlap.
    """

    worst_front_swing: Extreme
    worst_rear_swing: Extreme
    least_gap: dict[Hashable, Extreme]


Shapes = Mapping[Hashable, Sequence[list[np.ndarray]]]


def couple(path: Path, link: Link, bodies: Mapping[Hashable, tuple] = MappingProxyType({}),
           tolerance: float = TOLERANCE) -> Coupled:
    """Pull two coupled vehicles along the whole of `path`, their drawbars in one line.

    bodies: by any key, such as a height band, the convex outlines of the leading and of the following
        vehicle, two lists of (n, 2) arrays, each in its own vehicle's axes [mm]
    tolerance: how far straight lines between the places looked at may cut a curve [mm]; the worst places
        are found exactly in any case
    Raises ValueError for an outline that is not convex, and where the track is too tight for the pair.
    """
    shapes = {key: [[corners_of(outline) for outline in outlines] for outlines in both]
              for key, both in bodies.items()}
    rows, found, step = _looked_at(path, link, shapes, tolerance)
    worst = _worst(path, link, shapes, rows, found, step)
    return Coupled(worst["front_swing"], worst["rear_swing"], {key: worst["gap", key] for key in bodies})


def pair(path: Path, link: Link, lead: ArrayLike) -> Pair:
    """Return how two coupled vehicles stand, exact.

    lead: stations of the leading vehicle's leading guided point [mm], any shape
    The follower stands where its coupler pivot is `link.length` from the leader's.
    Raises ValueError where the track is too tight for them.
    """
    lead = np.asarray(lead, dtype=float)
    front = stand(path, link.front, lead)
    hook, _ = front.carry(-link.front_pivot)
    guess = lead - (link.front.base - link.rear.base) / 2 - link.front_pivot - link.length - link.rear_pivot

    spans: np.ndarray | None = None

    def apart(x: np.ndarray) -> tuple[np.ndarray, np.ndarray, tuple]:
        nonlocal spans
        rear = stand(path, link.rear, guess - x, spans)
        spans = guess - x - rear.rear       # hardly changes from one round to the next
        eye, rate = rear.carry(link.rear_pivot)
        reach = hook - eye
        length = np.abs(reach)
        return length - link.length, (reach * np.conj(rate)).real / length, (rear, reach)

    # The guess, as if the track were straight, lies ahead by what the curve under the pair adds to it.
    spare = link.length + link.front_pivot + link.rear_pivot
    x, (rear, reach) = root(apart, -_NEARLY * link.length, spare, np.zeros(lead.shape),
                            f"a drawbar of {link.length:g} mm")
    ahead = reach / link.length
    return Pair(front, rear, hook - link.front_bar * ahead, ahead)


def _looked_at(path: Path, link: Link, shapes: Shapes,
               tolerance: float) -> tuple[Rows, dict[Hashable, np.ndarray], float]:
    """Return the places to look at, every quantity there, and the step between the places [mm]."""
    step = step_for(path, tolerance)
    ahead = notched(_STRETCH * link.front.bogie / 2 + _SPARE)
    back = notched(ahead + _STRETCH * ((link.front.base + link.rear.base) / 2 + link.front_pivot + link.length
                                       + link.rear_pivot + link.rear.bogie / 2))
    while True:
        rows = rows_of(path, back, ahead, step)
        at = pair(path, link, rows.lead)
        used = (rows.lead - at.rear.rear).max() + _STRETCH * link.rear.bogie / 2
        if used <= back:
            names = "front_swing", "rear_swing", *(("gap", key) for key in shapes)
            return rows, {name: _quantity(name, shapes, at) for name in names}, step
        back = notched(used)


def _quantity(name: Hashable, shapes: Shapes, at: Pair) -> np.ndarray:
    """Return a swing [rad] or a gap [mm] by its name."""
    if not isinstance(name, tuple):
        return np.angle(at.ahead / (at.front if name == "front_swing" else at.rear).ahead)
    mine, its = shapes[name[1]]
    origin = ((at.rear.origin - at.front.origin) / at.front.ahead).ravel()
    ahead = (at.rear.ahead / at.front.ahead).ravel()
    return np.min([gaps(one, other, origin, ahead) for one in mine for other in its], axis=0).reshape(at.ahead.shape)


def _worst(path: Path, link: Link, shapes: Shapes, rows: Rows, found: dict[Hashable, np.ndarray],
           step: float) -> dict[Hashable, Extreme]:
    """Return the worst of every quantity, from a close look at the places where it is bad."""
    seeds = [(name, row) for name, values in found.items() for row in summits(_badness(name, values), _TOPS)]
    own = {name: [k for k, (one, _) in enumerate(seeds) if one == name] for name in found}

    def look(lead: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Return of every seed's own quantity the badness and the value, and the joint's station."""
        at = pair(path, link, lead)
        station, _ = path.project(at.joint, lead - link.front.base / 2 - link.front_pivot - link.front_bar)
        values = {name: _quantity(name, shapes, at.some(which)) for name, which in own.items()}
        return (np.concatenate([_badness(name, value) for name, value in values.items()]),
                np.concatenate(list(values.values())), station)

    lead, badness, value, station = peak(look, rows.lead[[row for _, row in seeds]], step)
    worst = {}
    for name, which in own.items():
        k = max(which, key=badness.__getitem__)
        place = station[k] % path.length if path.closed else station[k]
        worst[name] = Extreme(float(value[k]), float(place), int(path.piece_at(place)), float(lead[k]))
    return worst


def _badness(name: Hashable, value: np.ndarray) -> np.ndarray:
    """Return what grows as a quantity gets worse: the smallness of a gap, the size of a swing."""
    return -value if isinstance(name, tuple) else np.abs(value)
