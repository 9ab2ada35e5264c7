"""Wheels between the rails."""

from functools import lru_cache
from math import degrees, radians, sin

from partgen.finding import judge, up
from partgen.formulas.wheel import attack_angle as angle_of_attack
from partgen.formulas.wheel import play, wheelbase_limit
from partgen.plan.train import TrainPlan

LEAST_PLAY = 0.2        # mm; under this paint and dirt stop a wheel (common practice, no source)
LEAST_SHARE = 0.01      # of the gauge


def wheel_play(train: TrainPlan):
    """Hold the play between flanges and rails against what paint, dirt and a tight joint use up."""
    track = train.description.track
    limit = max(LEAST_PLAY, LEAST_SHARE * track.gauge)
    for plan in train.asked:
        wheels = plan.wheelset
        value = float(play(track.gauge, wheels.back_to_back, wheels.flange_thickness))
        yield judge("wheel-play", plan.who, value, limit, "min", "mm",
                    f"move the wheels together on their axle: back_to_back {wheels.back_to_back:g} -> "
                    f"{wheels.back_to_back - (limit - value):.2f} mm")


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
        yield judge("wheelbase", plan.who, plan.wheelbase, limit, "max", "mm",
                    f"shorten wheelbase by {plan.wheelbase - limit:.2f} mm to {limit:.2f} mm, or widen the "
                    f"sharpest curve beyond {track.min_radius:g} mm")


def attack_angle(train: TrainPlan):
    """Hold the wheels' angle of attack on the sharpest curve against 12 degrees (NEM 111)."""
    radius = train.description.track.min_radius
    longest = 2 * radius * sin(radians(STEEPEST_ATTACK))
    for plan in train.asked:
        value = degrees(angle_of_attack(plan.wheelbase, radius))
        yield judge("attack-angle", plan.who, value, STEEPEST_ATTACK, "max", "deg",
                    f"shorten wheelbase by {plan.wheelbase - longest:.1f} mm to {longest:.1f} mm")


LEAST_CLEARANCE = 0.5   # mm; a joint of home-laid track stands up by less (common practice, no source)


def under_clearance(train: TrainPlan):
    """Hold the smallest gap under every wagon, flanges included, over sleepers and markers."""
    track = train.description.track
    marker = train.trackside.marker
    ground = max(-track.rail_height, marker.height - track.rail_height if marker else -track.rail_height)
    for plan in train.asked:
        low, what = min(_lowest(plan))
        gap = low - ground
        yield judge("under-clearance", plan.who, gap, LEAST_CLEARANCE, "min", "mm",
                    f"its {what} comes within {gap:.2f} mm of what lies between the rails: {_cure(what, gap)}")


def _lowest(plan):
    """Yield (height over rail top [mm], what) of everything that hangs under a wagon."""
    yield plan.gear.axle_z - plan.gear.clip.depth, "axle clip"
    yield plan.frame.lowest, "coupler pivot"
    yield plan.coupling.lowest, "coupler screw"
    yield -plan.wheelset.flange_depth, "flange"
    yield from ((one.bottom, "sensor holder") for one in plan.hung)


def _cure(what: str, gap: float) -> str:
    missing = up(LEAST_CLEARANCE - gap)
    if what == "sensor holder":
        return f"enlarge sensor_gap by {missing} mm"
    if what == "flange":
        return f"lay rails {missing} mm higher, or choose wheels with flanges lower by as much"
    return f"raise coupler.height or choose wheels {missing} mm larger in radius"
