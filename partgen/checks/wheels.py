"""Wheels: between the rails, over what lies there, and under their frame."""

from collections.abc import Iterator
from math import degrees, radians, sin

from msgspec.structs import replace

from partgen.describe.track_tables import Track
from partgen.describe.wagon_tables import FLATTEST, UPRIGHT
from partgen.dynamics.at_grade import crossed
from partgen.finding import Finding, apart, judge
from partgen.formulas.wheel import attack_angle as angle_of_attack
from partgen.formulas.wheel import flangeway_play, lift_on_twist, longest_beside_rails, play
from partgen.plan.hardware import ONCE, PLASTICS
from partgen.plan.running_gear.axle_clip import least_hold
from partgen.plan.running_gear.bogie import BogieGear
from partgen.plan.running_gear.two_axle import TwoAxleGear, along_frame
from partgen.plan.running_gear.wheelbases import (
    LEAST_WHEEL_GAP,
    STEEPEST_ATTACK,
    curve_limit,
    most_lift,
)
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

LEAST_PLAY = 0.2        # mm; under this paint and dirt stop a wheel (common practice, no source)
PLAY_SHARE = 0.01      # of the gauge
LEAST_CLEARANCE = 0.5   # mm; a joint of home-laid track stands up by less (common practice, no source)


def wheel_play(train: TrainPlan) -> Iterator[Finding]:
    """Hold the play between flanges and rails against what paint, dirt and a tight joint use up; in the flangeways of a
    crossing too, whose inner edges the backs of both flanges pass."""
    track = train.description.track
    limit = max(LEAST_PLAY, PLAY_SHARE * track.gauge)
    for plan in train.asked:
        wheels = plan.wheelset
        value = float(play(track.gauge, wheels.back_to_back, wheels.flange_thickness))
        yield judge("wheel-play", plan.who, value, limit, "min", "mm",
                    f"rails {track.gauge:g} mm apart leave {value:.2f} mm of play to wheels "
                    f"{wheels.back_to_back:g} mm apart with flanges of {wheels.flange_thickness:g} mm")
        if track.crosses:
            wide = min(sin(radians(one.angle)) * one.gap for one in crossed(track))
            value = float(flangeway_play(wide, track.gauge + track.gauge_tolerance, wheels.back_to_back))
            yield judge("wheel-play", plan.who, value, limit, "min", "mm",
                        f"the flangeways of a crossing, {wide:.2f} mm wide, leave {value:.2f} mm to the backs of "
                        f"wheels {wheels.back_to_back:g} mm apart: measure the gap along the rail again, or lay a "
                        f"crossing with flangeways of {wide + (limit - value) / 2:.2f} mm")


def wheelbase(train: TrainPlan) -> Iterator[Finding]:
    """Hold each wheelbase against the exact limit of the sharpest curve."""
    track = train.description.track
    for plan in train.asked:
        limit = curve_limit(plan.wheelset, track)
        found = judge("wheelbase", plan.who, plan.wagon.wheelbase, limit, "max", "mm",
                      f"its axles stand {plan.wagon.wheelbase - limit:.2f} mm farther apart than a curve of "
                      f"{track.min_radius:g} mm lets their flanges turn{_at_least(plan, track)}",
                      note="no other can be clamped" if plan.travel_lost else "")
        longest = longest_beside_rails(track.gauge, track.min_radius, plan.wheelset.tread_radius,
                                       plan.wheelset.flange_depth)
        yield replace(found, unlimited=limit >= longest)


def _at_least(plan: WagonPlan, track: Track) -> str:
    """Say what measuring the flange angle could gain, where nobody did: the limit of the flattest flange."""
    if plan.wheelset.flange_angle is not None or plan.wheelset.printed:
        return ""
    try:
        most = curve_limit(plan.wheelset.model_copy(update={"flange_angle": FLATTEST}), track)
    except ValueError:
        return ""
    return (f"; flange_angle is not measured and counts as {UPRIGHT:g} deg: at {FLATTEST:g} deg the limit would be "
            f"{most:.2f} mm")


def attack_angle(train: TrainPlan) -> Iterator[Finding]:
    """Hold the wheels' angle of attack on the sharpest curve against 12 degrees (NEM 111)."""
    radius = train.description.track.min_radius
    for plan in train.asked:
        value = degrees(angle_of_attack(plan.wagon.wheelbase, radius))
        yield judge("attack-angle", plan.who, value, STEEPEST_ATTACK, "max", "deg",
                    f"on a curve of {radius:g} mm its wheels meet the rail at {value:.1f} deg")


def twist(train: TrainPlan) -> Iterator[Finding]:
    """Hold how high a wheel lifts where the track twists most and a joint of its rails steps, against half its flange's
    depth: of a rigid frame, of a bogie, of a body that one of its bogies rolls under."""
    track, step = train.description.track, train.description.joint_step
    steps = f", with a step of {step:g} mm at a joint of the rails" if step else ""
    for plan in train.asked:
        limit, rolled = most_lift(plan.wheelset), plan.gear.roll * track.gauge
        rigid = {"wheelbase": (plan.wagon.wheelbase, 0.0), plan.gear.base_name: (plan.base, rolled)}
        lift, name = max((float(lift_on_twist(track.twist / 1000, base, step, free, 1.0)), name)
                         for name, (base, free) in rigid.items())
        yield judge("twist", plan.who, lift, limit, "max", "mm", f"a wheel lifts {lift:.2f} mm where the track twists "
                    f"by {track.twist:g} mm in a metre under {rigid[name][0]:g} mm of {name}{steps}")


def under_clearance(train: TrainPlan) -> Iterator[Finding]:
    """Hold the smallest gap under every wagon, flanges included, over sleepers and markers; `sensor-gap` holds what
    hangs there to look at the track. Over a crossing the other way's rails lie there as high as the rails, with
    flangeways for the flanges alone."""
    track = train.description.track
    ground = max(-track.rail_height, train.marker_top if train.trackside.marker else -track.rail_height)
    for plan in train.asked:
        gap, what = min(*((low - max(ground, track.ground), name) for low, name in plan.hanging),
                        (-plan.wheelset.flange_depth - ground, "flange"))
        over = "the other way's rails on a crossing" if track.crosses and what != "flange" else (
            "what lies between the rails")
        yield judge("under-clearance", plan.who, gap, LEAST_CLEARANCE, "min", "mm",
                    f"its {what} comes within {gap:.2f} mm of {over}")


def press_fit(train: TrainPlan) -> Iterator[Finding]:
    """Hold the stretch of a printed wheel's bore round its rod against its plastic, and its grip there, once the
    plastic has given way, against what must hold a wheelset."""
    for plan, wheel in [(plan, plan.gear.wheel) for plan in train.asked if plan.gear.wheel]:
        who, limit, hold = plan.part_id("wheel"), PLASTICS[wheel.material].permissible(ONCE), least_hold(plan.wheelset)
        (strain, stands), (slip, least) = apart(wheel.strain, limit, spec="%"), apart(wheel.hold, hold)
        yield judge("press-fit", who, wheel.strain, limit, "max", "1",
                    f"so thin a rod stretches the bores by {strain}, {wheel.material} stands {stands}")
        yield judge("press-fit", who, wheel.hold, hold, "min", "N", f"the wheels slip on their rods at {slip} N, "
                    f"{least} N must hold them")


def wheel_room(train: TrainPlan) -> Iterator[Finding]:
    """Hold the smallest gap between turning wheels or swinging bogies and what they pass against what they need."""
    for plan in train.asked:
        gap, place = min(_gaps(plan))
        yield judge("wheel-room", plan.who, gap, LEAST_WHEEL_GAP, "min", "mm",
                    f"wheels come within {gap:.2f} mm of the {place}")


Gap = tuple[float, str]
"""A gap [mm], and to what it is."""


def _gaps(plan: WagonPlan) -> Iterator[Gap]:
    """Yield every gap to what wheels and bogies pass."""
    yield plan.gear.frame_bottom - plan.gear.wheel_top, "frame"
    if isinstance(plan.gear, BogieGear):
        yield from _past_bogies(plan, plan.gear)
    if isinstance(plan.gear, TwoAxleGear):
        yield from _past_axles(plan, plan.gear)


def _past_axles(plan: WagonPlan, gear: TwoAxleGear) -> Iterator[Gap]:
    """Yield the gaps to all that an axle passes which is slid outermost."""
    flange, guard = plan.wheelset.flange_diameter, plan.coupling.guard_outer
    ahead = plan.frame.seats[0].x - guard - plan.base / 2 - gear.travel
    if guard > plan.wheelset.back_to_back / 2:
        yield ahead - flange / 2, "coupler seat"
    yield ahead - gear.holder.half_length + LEAST_WHEEL_GAP, "coupler seat"
    yield plan.base - 2 * gear.travel - along_frame(gear.holder, gear.bar, plan.wheelset), "other axle"


def _past_bogies(plan: WagonPlan, gear: BogieGear) -> Iterator[Gap]:
    """Yield the gaps to all that a bogie passes on its way to full swing."""
    room, coupling, ahead = gear.room, plan.coupling, plan.frame.seats[0].x - plan.base / 2
    if gear.arm:        # it turns with the bogie
        yield ahead - coupling.guard_outer - plan.wheelset.flange_diameter / 2 - gear.bogie.axle_x, "coupler seat"
    else:
        yield room.gap(ahead, coupling.guard_outer), "coupler seat"
        yield ahead + coupling.head_back - room.reach, "drawbar"
    yield plan.base - 2 * room.reach, "other bogie"
