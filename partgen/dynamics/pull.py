"""What it takes to start the train, all cups full, up the slope in its sharpest curve, what may pull it, and how the
couplers draw each wagon aside."""

from collections.abc import Iterator, Sequence
from math import sin

import numpy as np

from partgen.describe.train_tables import Coupler
from partgen.dynamics.load_states import heaviest, lading
from partgen.dynamics.once import once
from partgen.dynamics.ramps import rates
from partgen.dynamics.seating import slope
from partgen.dynamics.survey import pairs, path_of
from partgen.formulas import traction
from partgen.formulas.magnet import DERATING, pull, share_out_of_line
from partgen.identity import CouplingId, LocomotiveId, Vehicle
from partgen.plan.coupling import DrawbarPlan
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

STICKS = 1.5            # static over sliding friction of plastic bearings (assumption)


@once
def masses(train: TrainPlan) -> list[float]:
    """Return the mass [g] of every wagon with all its seats full."""
    return [heaviest(lading(plan, train.description.printer)) for plan in train.wagons]


# ---- lengthwise

def pulls(train: TrainPlan) -> np.ndarray:
    """Return the pull [N] in the coupling in front of each wagon as the train starts: rolling, curve, slope and
    inertia of all behind it."""
    rate = rates(train)[0]
    return traction.coupling_pulls([mass * _specific(train, plan.wagon.wheelbase, rate)
                                    for mass, plan in zip(masses(train), train.wagons, strict=True)])


def own_resistance(train: TrainPlan) -> float:
    """Return the force against each gram of the locomotive [N/g] at the start."""
    loco = train.description.train.locomotive
    return _specific(train, loco.bogie_wheelbase or loco.wheelbase, rates(train)[0])


def _specific(train: TrainPlan, wheelbase: float, rate: float) -> float:
    """Return the force against each gram [N/g] of a vehicle whose rigid frames or bogies have a `wheelbase`
    [mm]: as it speeds up at a `rate` [mm/s2], or as it breaks away while it stands, whichever takes more."""
    ride, track = train.description.ride, train.description.track
    rolls = traction.rolling_resistance(1.0, ride.rolling) + traction.inertia_force(1.0, rate)
    sticks = traction.rolling_resistance(1.0, ride.breakaway or STICKS * ride.rolling)
    return float(max(rolls, sticks) + traction.gradient_force(1.0, slope(ride))
                 + traction.curve_resistance(1.0, path_of(track).min_radius, track.gauge + track.rail_head, wheelbase,
                                             ride.wheel_friction))


def pushes(train: TrainPlan) -> np.ndarray:
    """Return with what force [N] the wagons behind push on each wagon at its front coupling as the train stops on the
    way down the slope."""
    each = _pushing(train)
    return traction.coupling_pulls([each * mass for mass in masses(train)])


def _pushing(train: TrainPlan) -> float:
    """Return the force of each gram [N/g] that is to be held as the train stops down the slope: its own rolling helps,
    no curve is counted on."""
    ride = train.description.ride
    return max(0.0, float(traction.inertia_force(1.0, rates(train)[1]) + traction.gradient_force(1.0, slope(ride))
                          - traction.rolling_resistance(1.0, ride.rolling)))


def magnet_pull(coupler: Coupler, bar: DrawbarPlan) -> float:
    """Return the pull [N] of a coupling's magnets, computed and not derated: each looks through the skin of
    its own head and of the other's."""
    return len(bar.pockets) * float(pull(coupler.remanence, coupler.magnet_diameter / 2, coupler.magnet_length,
                                         2 * bar.skin))


def missed(train: TrainPlan) -> float:
    """Return how far [mm] the faces of the locomotive's coupler and of the first wagon's miss each other in height."""
    return abs(train.hook[0] - train.description.coupler.height)


def face_share(coupler: Coupler, bar: DrawbarPlan, miss: float) -> float:
    """Return what is left [1] of a coupling's pull in line where its faces `miss` each other by so much [mm]."""
    return max(share_out_of_line(coupler.magnet_diameter / 2, coupler.magnet_length, 2 * bar.skin, miss), 0.0)


def grip(train: TrainPlan) -> float:
    """Return the pull [N] at which the locomotive's wheels slip on the ride's slope."""
    return _grip(train, slope(train.description.ride))


def grip_on_level(train: TrainPlan) -> float:
    """Return the pull [N] at which they slip where it pulls hardest: on level track."""
    return _grip(train, 0.0)


def _grip(train: TrainPlan, rise: float) -> float:
    loco = train.description.train.locomotive
    return float(traction.adhesion_limit(loco.mass * loco.adhesive_share, loco.adhesion, rise))


def held_couplings(train: TrainPlan) -> Iterator[tuple[CouplingId, WagonPlan, float, float]]:
    """Yield every coupling with the wagon behind it, what its magnets hold, derated and as far out of line as they are
    measured, and what the start takes [N]."""
    fronts: list[Vehicle] = [LocomotiveId(), *(plan.who for plan in train.wagons)]
    for front, plan, needed in zip(fronts, train.wagons, pulls(train), strict=False):
        miss = missed(train) if front == LocomotiveId() else 0.0
        yield CouplingId(front, plan.who), plan, held_by(train.description.coupler, plan.coupling.front, miss), \
            float(needed)


def held_by(coupler: Coupler, bar: DrawbarPlan, miss: float) -> float:
    """Return the pull [N] to count on of a coupling whose faces `miss` each other by so much [mm]."""
    return face_share(coupler, bar, miss) * DERATING * magnet_pull(coupler, bar)


def start_pull(train: TrainPlan) -> float:
    """Return the pull [N] that the start of the whole train takes at the rails, the locomotive with it."""
    return float(pulls(train)[0]) + own_resistance(train) * train.description.train.locomotive.mass


def stop_push(train: TrainPlan) -> float:
    """Return the force [N] with which the locomotive's driven wheels brake the whole train as it stops."""
    return float(pushes(train)[0]) + _pushing(train) * train.description.train.locomotive.mass


# ---- aside

def asides(train: TrainPlan, forces: Sequence[float] | np.ndarray) -> list[float]:
    """Return the largest sideways force on each wagon [N] from both its drawbars, anywhere on the plan, of the `forces`
    [N] in the coupling in front of each."""
    return [ahead + behind for ahead, behind in _by_drawbar(train, forces)]


def axle_asides(train: TrainPlan, forces: Sequence[float] | np.ndarray) -> list[tuple[float, float]]:
    """Return the largest sideways force [N] on the front and on the rear axle, or bogie, of each wagon, of the `forces`
    [N] in the coupling in front of each.

    N aside at c from the middle of two axles a apart loads the near one with N (1/2 + c/a) and the far one with
    N (1/2 - c/a), CALC. Couplers on bogies leave all of N to the near one, whose outer axle bears N (1/2 + c/p), c from
    the bogie's middle and p its wheelbase, with half the bogie's load: as much as if twice that were on the whole
    bogie. Both drawbars pull at their largest swing, and to whichever sides are worse: the safe side.
    """
    return [(near * ahead + far * behind, near * behind + far * ahead)
            for plan, (ahead, behind) in zip(train.wagons, _by_drawbar(train, forces), strict=True)
            for near, far in [_shares(plan)]]


def _shares(plan: WagonPlan) -> tuple[float, float]:
    """Return how much of a drawbar's force aside counts on the near and on the far axle or bogie [1]."""
    if arm := plan.gear.arm:
        return 1 + 2 * arm.seat.x / plan.gear.bogie_wheelbase, 0.0
    lever = plan.frame.seats[0].x / plan.base
    return 0.5 + lever, abs(0.5 - lever)


def _by_drawbar(train: TrainPlan, forces: Sequence[float] | np.ndarray) -> list[tuple[float, float]]:
    """Return the largest sideways force [N] of each wagon's front and rear drawbar."""
    swings = [(sin(abs(pair.coupled.worst_front_swing.value)), sin(abs(pair.coupled.worst_rear_swing.value)))
              if pair.coupled else (1.0, 1.0) for pair in pairs(train)]
    behind = [*(float(force * swing[0]) for force, swing in zip(forces[1:], swings[1:], strict=True)), 0.0]
    return [(float(force * swing[1]), rear) for force, swing, rear in zip(forces, swings, behind, strict=True)]
