"""The liquid in each cup of the train: its shape, how it swings, how high a plan's curves raise it, and how far it
may climb."""

from functools import cached_property, lru_cache
from math import ceil, inf, log2

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from partgen.describe.cargo_tables import Cup
from partgen.describe.track_tables import Track
from partgen.dynamics.survey import path_of
from partgen.formulas import response, slosh
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

MOST_DAMPING = 0.5      # a thicker boundary layer is not the formula's; less damping than there is is the safe side


class Liquid(Struct, frozen=True, dict=True, cache_hash=True):
    """A cup's inside, upright and turned: `heights` over the inner floor and `radii` there, rim last [mm];
    `depth` of the liquid [mm], its kinematic `viscosity` [mm2/s]; `name` as in the description."""

    name: str
    label: str
    heights: tuple[float, ...]
    radii: tuple[float, ...]
    depth: float
    viscosity: float = 0.0

    @property
    def rim(self) -> float:
        """Height of the rim over the inner floor [mm]."""
        return self.heights[-1]

    @property
    def freeboard(self) -> float:
        """Wall above the liquid at rest [mm]."""
        return self.rim - self.depth

    @cached_property
    def radius(self) -> float:
        """Inner radius at the surface [mm]."""
        return float(np.interp(self.depth, self.heights, self.radii))

    @cached_property
    def lean(self) -> float:
        """Tangent of the largest outward lean of the wall between surface and rim [1]; 0 where it leans inwards."""
        heights = np.append(self.depth, [h for h in self.heights if h > self.depth])
        radii = np.interp(heights, self.heights, self.radii)
        return max(0.0, float((np.diff(radii) / np.diff(heights)).max())) if len(heights) > 1 else 0.0

    @cached_property
    def modes(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """What `formulas.response` needs: frequencies [rad/s], damping ratios [1] and rises [s2] of the modes."""
        below = [h for h in self.heights if h < self.depth] + [self.depth]
        first = slosh.tapered_omega(below, np.interp(below, self.heights, self.radii))
        omegas, dampings, rises = slosh.wall_modes(self.radius, self.depth, self.viscosity, first)
        return omegas, np.minimum(dampings, MOST_DAMPING), rises

    @property
    def periods(self) -> np.ndarray:
        """Slosh periods of the modes, longest first [s]."""
        return 2 * np.pi / self.modes[0]

    def room(self, tilt: float = 0.0, reserve: float = 0.0) -> float:
        """Return the rise [mm] that spills nothing, as `formulas.response` counts it at the surface's radius.

        tilt: lean of the floor at worst [rad]; reserve: freeboard that must stay dry [mm]. Negative where the
        cup spills standing still.
        """
        free = self.freeboard - reserve
        return free / (1 + max(free, 0.0) * self.lean / self.radius) - self.radius * np.tan(tilt)

    def climbed(self, rise: float, tilt: float = 0.0) -> float:
        """Return how high [mm] over the level at rest a `rise` [mm] meets the wall, the floor leaning by `tilt`
        [rad]."""
        return float(slosh.climb(rise + self.radius * np.tan(tilt), self.radius, np.arctan(self.lean)))

    def steady(self, acceleration: float) -> float:
        """Return the rise [mm] under a steady level `acceleration` [mm/s2]."""
        return float(slosh.steady_rise(self.radius, acceleration))

    def peak(self, times: np.ndarray, accelerations: np.ndarray) -> float:
        """Return the highest rise [mm] during and after a ride of `times` [s] and `accelerations` [mm/s2]."""
        return response.peak(times, accelerations, *self.modes)

    def residual(self, times: np.ndarray, accelerations: np.ndarray) -> float:
        """Return the rise [mm] that still swings after a ride of `times` [s] and `accelerations` [mm/s2]."""
        return response.residual(times, accelerations, *self.modes)

    def filled(self, depth: float) -> "Liquid":
        """Return the same cup filled `depth` [mm] deep."""
        return replace(self, depth=depth)

@lru_cache(maxsize=256)
def liquid_of(name: str, cup: Cup) -> Liquid:
    """Resolve what is in `cup`; its wall is as thick everywhere as at the rim, its floor as its wall."""
    outer, wide = np.array(cup.profile).T
    heights = np.append(cup.wall, outer[outer > cup.wall])
    radii = np.interp(heights, outer, wide) / 2 - cup.wall
    return Liquid(name, cup.label, tuple(map(float, heights - cup.wall)), tuple(map(float, radii)), cup.fill,
                  cup.viscosity)


def liquids_on(train: TrainPlan, plan: WagonPlan) -> tuple[Liquid, ...]:
    """Return the liquid of every kind of cup that a wagon takes, with an insert too, and that is filled."""
    described = train.description.cup
    return tuple(liquid_of(name, described[name]) for name in dict.fromkeys((*plan.wagon.cups, *plan.wagon.inserts))
                 if described[name].fill > 0)


def liquids_of(train: TrainPlan) -> tuple[Liquid, ...]:
    """Return the liquids of the whole train, in order of first use."""
    return tuple(dict.fromkeys(liquid for plan in train.wagons for liquid in liquids_on(train, plan)))


# ---- on the curves of a plan

DOUBLINGS = 4           # of the speed that are looked at: in all slower ones the same swings meet in no other ways
PHASE = 0.35            # rad of the first mode over the whole plan between two speeds: a peak is missed by 2 % at most
MOST, FEWER = 4000, 10  # speeds to a doubling; a tenth of them for all other modes, which rise by a sixth together
LAPS = 2                # of a closed plan: what swings from further back has died down (common practice, no source)


class OnCurves(Struct, frozen=True):
    """How high a liquid may rise on the curves [mm]: its `crest` over the level at rest, and the most of it that
    `swings` on when they are passed [mm]; and the most, at any such speed, that a crest is over the steady rise in the
    sharpest of them, 1 at least [1]."""

    crest: float = 0.0
    swings: float = 0.0
    factor: float = 1.0


@lru_cache(maxsize=1024)
def on_curves(liquid: Liquid, track: Track, speed: float, radius: float = 0.0) -> OnCurves:
    """Return what the curves of the track's plan make of a liquid that rests at its start, at whichever speed up to
    `speed` [mm/s] is the worst: no motor holds a speed so well that the swings of one curve are sure to miss those of
    the next. The first mode and all others count as if they were worst together.

    Curves sharper than `radius` [mm] are taken to be eased to it, as they are run the more slowly; 0 takes the plan
    as it is. The liquid turns with the wagon here; a curve turns far more slowly than a cup swings.
    """
    course = _course(track, radius)
    sharpest = max(map(abs, course[1]))
    if not sharpest:
        return OnCurves()
    crest, swings, ratio = (_up_to(speed, liquid, course, True) + _up_to(speed, liquid, course, False)).tolist()
    return OnCurves(crest, swings, max(1.0, ratio / liquid.steady(sharpest)))


Course = tuple[tuple[float, ...], tuple[float, ...]]
"""Lengths [mm] and curvatures [1/mm] of the pieces that are run over."""


@lru_cache(maxsize=256)
def _course(track: Track, radius: float) -> Course:
    path = path_of(track)
    sharpest = 1 / radius if radius else inf
    pieces = path.pieces * (LAPS if path.closed else 1)
    return (tuple(piece.length for piece in pieces),
            tuple(max(-sharpest, min(piece.curvature, sharpest)) for piece in pieces))


def _up_to(speed: float, liquid: Liquid, course: Course, first: bool) -> np.ndarray:
    """Return the worst of the first mode, or of all others, at any speed up to `speed` [mm/s]."""
    worst = _worst(np.array([speed]), liquid, course, first)[:, 0]
    top = ceil(log2(speed))
    for octave in range(top - DOUBLINGS, top):
        speeds, found = _octave(liquid, course, octave, first)
        below = int(np.searchsorted(speeds, speed, side="right"))
        worst = np.maximum(worst, found[:, below - 1]) if below else worst
    return worst


@lru_cache(maxsize=1024)
def _octave(liquid: Liquid, course: Course, octave: int, first: bool) -> tuple[np.ndarray, np.ndarray]:
    """Return speeds over 2^octave up to twice that [mm/s], and the worst at any of them up to each."""
    slowness = 2.0**-octave
    phases = liquid.modes[0][0] * sum(course[0]) * slowness / 2
    count = ceil(min(phases / PHASE, MOST) / (1 if first else FEWER))
    speeds = 1 / np.linspace(slowness, slowness / 2, count + 1)[1:]
    return speeds, np.maximum.accumulate(_worst(speeds, liquid, course, first), axis=1)


def _worst(speeds: np.ndarray, liquid: Liquid, course: Course, first: bool) -> np.ndarray:
    """Return the crest [mm], what swings on [mm], and the crest over the square of the speed [s2/mm], at each of
    `speeds` [mm/s], of the first mode or of all others."""
    crests, swings = response.curve_crests(speeds, *course, *(part[:1] if first else part[1:] for part in liquid.modes))
    return np.array([crests, swings, crests / speeds**2])
