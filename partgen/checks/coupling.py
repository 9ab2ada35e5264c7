"""Coupled neighbours over the whole plan: drawbars, bodies, and the pull that draws a wagon inward."""

from collections.abc import Iterator
from math import degrees, inf, radians, sqrt

from partgen.describe.field import limits
from partgen.describe.track_tables import Track
from partgen.describe.train_tables import Coupler
from partgen.describe.wagon_tables import FLATTEST
from partgen.dynamics.pull import face_share, grip, held_by, held_couplings, missed, own_resistance, start_pull
from partgen.dynamics.search import smallest
from partgen.dynamics.stability import inwards, stuck
from partgen.dynamics.survey import Neighbours, pairs, path_of, place
from partgen.finding import Finding, either, judge, up
from partgen.formulas.balance import nadal_limit
from partgen.identity import CouplingId, LocomotiveId, StuckId
from partgen.plan.body.widest import BODY_GAP
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

LIKELY = 70.0           # deg of a flange's face (common practice, no source)
FACE_SHARE = 0.25       # of the magnet's diameter by which two faces may miss each other


def coupler_swing(train: TrainPlan) -> Iterator[Finding]:
    """Hold the largest drawbar angle over the plan against the angle at which the seat stops it."""
    track, limit = train.description.track, train.description.coupler.swing
    for pair in pairs(train):
        value, cure = 90.0, _too_tight(pair, track)
        if pair.coupled:
            ours = pair.front.who != LocomotiveId()           # its own coupler is not ours to judge
            ends = [pair.coupled.worst_rear_swing, *([pair.coupled.worst_front_swing] if ours else [])]
            worst = max(ends, key=lambda extreme: abs(extreme.value))
            value = abs(degrees(worst.value))
            cure = (f"the drawbar turns {value:.1f} deg {place(path_of(track), worst.station)}: raise coupler.swing to "
                    f"{up(value)} deg, lengthen coupler.gap, or put a straight between reverse curves")
        yield judge("coupler-swing", pair.who, value, limit, "max", "deg", cure)


def body_gap(train: TrainPlan) -> Iterator[Finding]:
    """Hold the nearest distance between neighbours' bodies over the plan against what they need."""
    track = train.description.track
    for pair in pairs(train):
        value, cure = -min(pair.front.width, pair.rear.width), _too_tight(pair, track)
        if pair.coupled:
            value, station = pair.coupled.least_gap.value, pair.coupled.least_gap.station
            cure = (f"the bodies come within {value:.1f} mm {place(path_of(track), station)}: lengthen coupler.gap by "
                    f"{up(1.5 * (BODY_GAP - value))} mm to begin with, or narrow the bodies")
        yield judge("body-gap", pair.who, value, BODY_GAP, "min", "mm", cure)


def _too_tight(pair: Neighbours, track: Track) -> str:
    """Return the remedy for a pair that is not to be coupled or not to be pulled round the track."""
    short = min(pair.front, pair.rear, key=lambda runner: runner.pivot)
    if short.pivot <= 0:
        return f"the coupler seats of {short.who} overlap: lengthen its body by {up(-2 * short.pivot)} mm to begin with"
    return (f"no coupled pair goes round {track.min_radius:g} mm with these bodies: shorten their wheelbase, or widen "
            f"the curve beyond {2 * track.min_radius:g} mm to begin with")


def coupler_height(train: TrainPlan) -> Iterator[Finding]:
    """Hold the locomotive's measured coupler height against the wagons'; what a lesser miss costs of the magnets' pull
    is in `coupler-pull`."""
    coupler, plan, miss = train.description.coupler, train.wagons[0], missed(train)
    own = train.description.train.locomotive.coupler_height or coupler.height
    left = 100 * face_share(coupler, plan.coupling.front, miss)
    yield judge("coupler-height", CouplingId(LocomotiveId(), plan.who), miss, FACE_SHARE * coupler.magnet_diameter,
                "max", "mm", f"the faces miss each other by {miss:.1f} mm and pull with {left:.0f} % of what they do "
                f"in line: set coupler.height to {own:g} mm")


def string_line(train: TrainPlan) -> Iterator[Finding]:
    """Hold the inward pull on each wagon, in its worst load state, against wheel climb (Nadal) of the axle that it
    draws at most and tipping over the inner rail.

    The pull at each coupling is what the start takes of all behind it: rolling or breaking away, curve, slope, speeding
    up. The value is the worst of the shares used up.
    """
    for plan, inward in inwards(train):
        yield judge("string-line", plan.who, inward.share, 1.0, "max", "1",
                    f"the train's pull draws it inward with {inward.force:.2f} N ({inward.what}, {inward.words}): put "
                    f"it further back, load it with {up(inward.lacks, 0)} g, or start more gently"
                    + _unmeasured(train, plan))


def _unmeasured(train: TrainPlan, plan: WagonPlan) -> str:
    """Say what measuring the flange angle could gain, where nobody did."""
    if plan.wheelset.flange_angle is not None or plan.wheelset.printed:
        return ""
    friction = train.description.ride.wheel_friction
    known, likely = (float(nadal_limit(radians(angle), friction)) for angle in (plan.wheelset.climbing_angle, LIKELY))
    return (f"; flange_angle is not measured and counts as {FLATTEST:g} deg: at {LIKELY:g} deg it bears "
            f"{likely / known:.1f} times as much") if known > 0 else ""


MOST = limits(Coupler.model_fields["remanence"])[1]
WIDEST = limits(Coupler.model_fields["magnet_diameter"])[1]
MORE = 1.02             # wider magnets make a heavier coupler
MOST_GRIP = 0.6         # N/N: rubber tyres on clean rails (common practice, no source)


def coupler_pull(train: TrainPlan) -> Iterator[Finding]:
    """Hold what the magnets of every coupling pull, derated, against what the start takes behind it; and what
    may pull at any wagon that is stuck against what lifts its rear axle."""
    coupler, safety = train.description.coupler, train.description.ride.pull_safety
    for who, plan, value, needed in held_couplings(train):
        less = f"take {up(100 * (1 - value / (safety * needed)), 0)} % of the mass off behind it"
        cure = either(_stronger(coupler, plan, safety * needed, missed(train) if who.front == LocomotiveId() else 0.0),
                      less)
        yield judge("coupler-pull", who, value, safety * needed, "min", "N",
                    f"the magnets hold {value:.2f} N and the start takes {needed:.2f} N: {cure}")
    for plan, pulled, lifts, lacks in stuck(train):
        yield judge("coupler-pull", StuckId(plan.name), pulled, lifts, "max", "N", "stuck, it is pulled with up to "
                    f"{pulled:.2f} N before a coupler opens or the locomotive slips, and {lifts:.2f} N lift it off its "
                    f"rear axle: put {up(lacks, 0)} g into it, or choose weaker magnets")


def _stronger(coupler: Coupler, plan: WagonPlan, force: float, miss: float) -> str:
    """Return the remedy of a stronger magnet that pulls with `force` [N], derated, as far out of line as faces `miss`
    each other [mm]; none where none is made."""
    bar, held = plan.coupling.front, held_by(coupler, plan.coupling.front, miss)
    remanence = coupler.remanence * sqrt(force / held) if held else inf
    if remanence <= MOST:
        return f"choose magnets of coupler.remanence {up(remanence, 2)} T"

    def enough(halves: int) -> bool:
        return held_by(coupler.model_copy(update={"magnet_diameter": halves / 2}), bar, miss) >= MORE * force

    halves = smallest(int(2 * coupler.magnet_diameter), int(2 * WIDEST), enough)
    return f"choose magnets {halves / 2:g} mm in diameter" if halves else ""


def adhesion(train: TrainPlan) -> Iterator[Finding]:
    """Hold what the locomotive's wheels can pull before they slip against what the start of the whole train
    takes."""
    ride, loco = train.description.ride, train.description.train.locomotive
    needed, own = start_pull(train), own_resistance(train)
    value, limit = grip(train), ride.pull_safety * needed
    spare = value / loco.mass - ride.pull_safety * own
    heavier = ride.pull_safety * (needed - own * loco.mass)
    cure = either(f"weigh the locomotive down to {up(heavier / spare, 0)} g" if spare > 0 else "",
                  f"give its wheels an adhesion of {up(loco.adhesion * limit / value, 2)} (rubber tyres have about "
                  f"{MOST_GRIP:g})")
    yield judge("adhesion", LocomotiveId(), value, limit, "min", "N",
                f"its wheels slip at {value:.2f} N and the start takes {needed:.2f} N: {cure}")
