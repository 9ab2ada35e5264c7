"""Coupled neighbours over the whole plan: drawbars, bodies, and the pull that draws a wagon inward."""

from collections.abc import Iterator
from math import degrees, radians

from partgen.describe.track_tables import Track
from partgen.describe.wagon_tables import FLATTEST
from partgen.dynamics.pull import face_share, grip, held_couplings, magnet_pull, missed, start_pull, stop_push
from partgen.dynamics.stability import aside_in_curves, stuck
from partgen.dynamics.survey import Neighbours, pairs, path_of, place
from partgen.finding import Finding, judge, up
from partgen.formulas.adhesive import joint_pull
from partgen.formulas.balance import nadal_limit
from partgen.identity import CouplingId, LocomotiveId, StuckId
from partgen.plan.body.widest import BODY_GAP
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

LIKELY = 70.0           # deg of a flange's face (common practice, no source)
STRENGTH = {"tape": 0.085, "glue": 0.5}
"""MPa that a joint bears for a moment at its worst edge: foam tape 12 pounds a square inch (from memory, makers of such
tape); glue far less than its sheet says, since the locomotive's paint lets go (common practice, no source)."""
FACE_SHARE = 0.25       # of the magnet's diameter by which two faces may miss each other


def coupler_swing(train: TrainPlan) -> Iterator[Finding]:
    """Hold the largest drawbar angle over the plan against the angle at which the seat stops it."""
    track, limit = train.description.track, train.description.coupler.swing
    for pair in pairs(train):
        value, found = 90.0, _too_tight(pair, track)
        if pair.coupled:
            ours = pair.front.who != LocomotiveId() or train.head   # its own coupler is not ours to judge
            ends = [pair.coupled.worst_rear_swing, *([pair.coupled.worst_front_swing] if ours else [])]
            worst = max(ends, key=lambda extreme: abs(extreme.value))
            value = abs(degrees(worst.value))
            found = f"the drawbar turns {value:.1f} deg {place(path_of(track), worst.station)}"
        yield judge("coupler-swing", pair.who, value, limit, "max", "deg", found)


def body_gap(train: TrainPlan) -> Iterator[Finding]:
    """Hold the nearest distance between neighbours' bodies over the plan against what they need."""
    track = train.description.track
    for pair in pairs(train):
        value, found = -min(pair.front.width, pair.rear.width), _too_tight(pair, track)
        if pair.coupled:
            value, station = pair.coupled.least_gap.value, pair.coupled.least_gap.station
            found = f"the bodies come within {value:.1f} mm {place(path_of(track), station)}"
        yield judge("body-gap", pair.who, value, BODY_GAP, "min", "mm", found)


def _too_tight(pair: Neighbours, track: Track) -> str:
    """Say why a pair is not to be coupled or not to be pulled round the track."""
    short = min(pair.front, pair.rear, key=lambda runner: runner.pivot)
    if short.pivot <= 0:
        return f"the coupler seats of {short.who} overlap by {-2 * short.pivot:.1f} mm, so short is its body"
    return f"no coupled pair goes round {track.min_radius:g} mm with these bodies"


def coupler_height(train: TrainPlan) -> Iterator[Finding]:
    """Hold the locomotive's measured coupler height against the wagons'; what a lesser miss costs of the magnets' pull
    is in `coupler-pull`."""
    coupler, plan, miss = train.description.coupler, train.wagons[0], missed(train)
    own = train.hook[0]
    left = 100 * face_share(coupler, plan.coupling.front, miss)
    yield judge("coupler-height", CouplingId(LocomotiveId(), plan.who), miss, FACE_SHARE * coupler.magnet_diameter,
                "max", "mm", f"the faces miss each other by {miss:.1f} mm and pull with {left:.0f} % of what they do "
                f"in line: its coupler stands at {own:g} mm, the wagons' at {coupler.height:g} mm")


def adaptor(train: TrainPlan) -> Iterator[Finding]:
    """Hold the flat face under the locomotive against what its adaptor asks of it, and tape or glue against the most
    that its coupler may pull at it before the magnets part, none of their force lost."""
    head = train.head
    if not head:
        return
    who, plan, mount = head.part_id("adaptor"), head.plan, head.described.mount
    for one in head.wanting:
        yield judge("adaptor", who, one.value, one.least, "min", "mm", FACE[one.kind].format(
            found=f"{one.value:.4g}", least=up(one.least), coupler=f"{head.coupling.height:g}", screw=head.screw.name))
    if mount in STRENGTH:
        bears = joint_pull(STRENGTH[mount], plan.length, plan.width, head.lever)
        most, safety = magnet_pull(train.description.coupler, head.bar), train.description.ride.pull_safety
        yield judge("adaptor", who, bears, safety * most, "min", "N",
                    f"its {mount} bears {bears:.2f} N at a coupler {head.lever:g} mm below it and the magnets pull "
                    f"with up to {most:.2f} N, which it must bear {safety:g} times over")


FACE = {
    "face": "the face under the locomotive's end is {found} mm over rail top: the adaptor needs {least} mm over "
            "couplers at {coupler} mm with {screw} screws",
    "length": "the face is flat for {found} mm: the coupler's seat takes {least} mm",
    "width": "the face is {found} mm wide: the coupler's seat takes {least} mm",
    "screws": "the screws into the locomotive stand {found} mm off the coupler's seat, or off each other, where their "
              "heads take {least} mm",
}
"""What is amiss with the face, by the kind of Shortfall."""


def string_line(train: TrainPlan) -> Iterator[Finding]:
    """Hold the train's inward pull on each wagon as it starts, and its outward push as it stops in the sharpest curve
    from full speed, in the worst load state, against wheel climb (Nadal) of the axle that takes most of it and tipping
    over that rail.

    The pull at each coupling is what the start takes of all behind it: rolling or breaking away, curve, slope, speeding
    up; the push is what all behind it bring along as they slow down. The value is the worst of the shares used up.
    """
    for plan, aside in aside_in_curves(train):
        does = ("pull draws it inward" if aside.way == "inward" else
                "push, as it stops in a curve, drives it outward")
        yield judge("string-line", plan.who, aside.share, 1.0, "max", "1",
                    f"the train's {does} with {aside.force:.2f} N ({aside.what}, {aside.words})"
                    + _unmeasured(train, plan))


def _unmeasured(train: TrainPlan, plan: WagonPlan) -> str:
    """Say what measuring the flange angle could gain, where nobody did."""
    if plan.wheelset.flange_angle is not None or plan.wheelset.printed:
        return ""
    friction = train.description.ride.wheel_friction
    known, likely = (float(nadal_limit(radians(angle), friction)) for angle in (plan.wheelset.climbing_angle, LIKELY))
    return (f"; flange_angle is not measured and counts as {FLATTEST:g} deg: at {LIKELY:g} deg it bears "
            f"{likely / known:.1f} times as much")


def coupler_pull(train: TrainPlan) -> Iterator[Finding]:
    """Hold what the magnets of every coupling pull, derated, against what the start takes behind it; and what
    may pull at any wagon that is stuck against what lifts its rear axle."""
    safety = train.description.ride.pull_safety
    for who, _, value, needed in held_couplings(train):
        yield judge("coupler-pull", who, value, safety * needed, "min", "N",
                    f"the magnets hold {value:.2f} N and the start takes {needed:.2f} N, which they must hold "
                    f"{safety:g} times over")
    for plan, pulled, lifts in stuck(train):
        lifted = f"{lifts:.2f} N lift it off its rear axle" if lifts >= 0 else "it lifts off its rear axle by itself"
        yield judge("coupler-pull", StuckId(plan.name), pulled, lifts, "max", "N", "stuck, it is pulled with up to "
                    f"{pulled:.2f} N before a coupler opens or the locomotive slips, and {lifted}")


def adhesion(train: TrainPlan) -> Iterator[Finding]:
    """Hold what the locomotive's wheels can pull or brake before they slip against what the start of the whole train
    takes up the slope, and its stop down it."""
    safety, value, start, halt = train.description.ride.pull_safety, grip(train), start_pull(train), stop_push(train)
    needed, what, do = (start, "start", "pull") if start >= halt else (halt, "stop", "brake")
    yield judge("adhesion", LocomotiveId(), value, safety * needed, "min", "N",
                f"its wheels slip at {value:.2f} N and the {what} takes {needed:.2f} N, which they must {do} "
                f"{safety:g} times over")
