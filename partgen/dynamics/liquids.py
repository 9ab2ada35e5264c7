"""The liquid in each cup of the train: its shape, how it swings, and how far it may climb."""

from functools import cached_property, lru_cache
from math import exp

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from partgen.describe.cup_table import Cup
from partgen.formulas import response, slosh, taper
from partgen.formulas.jolts import mode_heights
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

REST = 10.0             # s at a stop at least: a cup is handed over (common practice, no source)
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
    def _first(self) -> tuple[float, float, float]:
        """What `taper.first_mode` tells of its first mode."""
        below = [h for h in self.heights if h < self.depth] + [self.depth]
        return taper.first_mode(below, np.interp(below, self.heights, self.radii))

    @cached_property
    def modes(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """What `formulas.response` needs: frequencies [rad/s], damping ratios [1] and rises [s2] of the modes."""
        omegas, dampings, rises = slosh.wall_modes(self.radius, self.depth, self.viscosity, self._first[0])
        return omegas, np.minimum(dampings, MOST_DAMPING), rises

    @property
    def mode_heights(self) -> np.ndarray:
        """How high over the inner floor each mode is moved [mm]: the first as in the cup's own shape, quicker ones as
        in an upright cylinder, near whose surface they are in any case."""
        return np.append(self._first[2], mode_heights(self.radius, self.depth, len(self.modes[0]))[1:])

    def rested(self, swing: float) -> float:
        """Return what a stop's rest leaves of a `swing` [mm] at most: it fades no slower than its slowest mode."""
        return swing * exp(-REST * float((self.modes[0] * self.modes[1]).min()))

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
        level = free / (1 + max(free, 0.0) * self.lean / self.radius) - self.radius * np.tan(tilt)
        return float(slosh.before_crest(level, self.radius)) if level > 0 else level

    def climbed(self, rise: float, tilt: float = 0.0) -> float:
        """Return how high [mm] over the level at rest a `rise` [mm] of first order, its crest higher than that, meets
        the wall, the floor leaning by `tilt` [rad]."""
        level = slosh.crest(rise, self.radius) + self.radius * np.tan(tilt)
        return float(slosh.climb(level, self.radius, np.arctan(self.lean)))

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
    """Resolve what is in `cup`."""
    return Liquid(name, cup.label, tuple(height - cup.floor for height, _ in cup.inside),
                  tuple(diameter / 2 for _, diameter in cup.inside), cup.fill, cup.viscosity)


def liquids_on(train: TrainPlan, plan: WagonPlan) -> tuple[Liquid, ...]:
    """Return the liquid of every kind of cup that a wagon takes, with an insert too, and that is filled."""
    described = train.description.cup
    return tuple(liquid_of(name, described[name]) for name in dict.fromkeys((*plan.wagon.cups, *plan.wagon.inserts))
                 if described[name].fill > 0)


def liquids_of(train: TrainPlan) -> tuple[Liquid, ...]:
    """Return the liquids of the whole train, in order of first use."""
    return tuple(dict.fromkeys(liquid for plan in train.wagons for liquid in liquids_on(train, plan)))
