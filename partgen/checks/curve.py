"""A rigid wheelbase on the sharpest curve."""

from functools import lru_cache
from math import degrees, radians, sin

from partgen.finding import judge
from partgen.formulas.curve import attack_angle as angle_of_attack
from partgen.formulas.wheel import wheelbase_limit
from partgen.plan.train import TrainPlan

STEEPEST_ATTACK = 12.0  # deg, NEM 111 (2016) page 1


@lru_cache(maxsize=256)
def limit_of(wheels, track) -> float:
    """Return the longest wheelbase [mm] whose flanges fit between the rails of the sharpest curve."""
    return wheelbase_limit(track.gauge, track.min_radius, wheels.back_to_back, wheels.flange_thickness,
                           wheels.tread_radius, wheels.flange_depth, radians(wheels.flange_angle))


def wheelbase(train: TrainPlan):
    """Hold each wheelbase against the exact limit of the sharpest curve."""
    track = train.description.track
    for plan in train.asked:
        limit = limit_of(plan.wheelset, track)
        yield judge("wheelbase", plan.name, plan.wheelbase, limit, "max", "mm",
                    f"shorten wheelbase by {plan.wheelbase - limit:.2f} mm to {limit:.2f} mm, or widen the "
                    f"sharpest curve beyond {track.min_radius:g} mm")


def attack_angle(train: TrainPlan):
    """Hold the wheels' angle of attack on the sharpest curve against 12 degrees (NEM 111)."""
    radius = train.description.track.min_radius
    longest = 2 * radius * sin(radians(STEEPEST_ATTACK))
    for plan in train.asked:
        value = degrees(angle_of_attack(plan.wheelbase, radius))
        yield judge("attack-angle", plan.name, value, STEEPEST_ATTACK, "max", "deg",
                    f"shorten wheelbase by {plan.wheelbase - longest:.1f} mm to {longest:.1f} mm")
