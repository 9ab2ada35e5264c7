"""What it takes to start the train, all cups full, up the slope in its sharpest curve, and what may pull
it."""

from functools import lru_cache

import numpy as np

from partgen.dynamics.load_states import heaviest, lading
from partgen.dynamics.ramps import rates, slope
from partgen.formulas import traction
from partgen.formulas.magnet import pull
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan


def masses(train: TrainPlan) -> list[float]:
    """Return the mass [g] of every wagon with all its seats full."""
    return [_mass(plan, train.description.printer.material) for plan in train.wagons]


@lru_cache(maxsize=256)
def _mass(plan: WagonPlan, material: str) -> float:
    return heaviest(lading(plan, material))


def resistances(train: TrainPlan) -> np.ndarray:
    """Return the force [N] against each wagon at the start: rolling, curve, slope and inertia together."""
    pairs = zip(masses(train), (plan.wheelbase for plan in train.wagons))
    return np.array([mass * specific(train, wheelbase) for mass, wheelbase in pairs])


def specific(train: TrainPlan, wheelbase: float) -> float:
    """Return the force against each gram [N/g] of a vehicle whose rigid frames or bogies have a `wheelbase`
    [mm]."""
    ride, track = train.description.ride, train.description.track
    return float(traction.rolling_resistance(1.0, ride.rolling) + traction.gradient_force(1.0, slope(ride))
                 + traction.curve_resistance(1.0, track.min_radius, track.gauge + track.rail_head, wheelbase,
                                             ride.wheel_friction)
                 + traction.inertia_force(1.0, rates(train)[0]))


def pulls(train: TrainPlan) -> np.ndarray:
    """Return the pull [N] in the coupling in front of each wagon."""
    return traction.coupling_pulls(resistances(train))


def own_resistance(train: TrainPlan) -> float:
    """Return the force against each gram of the locomotive [N/g]."""
    loco = train.description.train.locomotive
    return specific(train, loco.bogie_wheelbase or loco.wheelbase)


def magnet_pull(coupler, bar) -> float:
    """Return the pull [N] of a coupling's magnets, computed and not derated: each looks through the skin of
    its own head and of the other's."""
    return len(bar.pockets) * float(pull(coupler.remanence, coupler.magnet_diameter / 2, coupler.magnet_length,
                                         2 * bar.skin))


def grip(train: TrainPlan) -> float:
    """Return the pull [N] at which the locomotive's wheels slip on the slope."""
    loco = train.description.train.locomotive
    driven = loco.mass * loco.adhesive_share
    return float(traction.adhesion_limit(driven, loco.adhesion, slope(train.description.ride)))
