"""Do the seats hold the cups at the ride's accelerations."""

from math import atan2, ceil, hypot, pi, radians

from partgen.checks.drinks import curve_swing, ramp_swing
from partgen.checks.search import largest
from partgen.dynamics.liquids import liquid_of
from partgen.dynamics.load_states import swung_centre
from partgen.dynamics.ramps import rates, ridden
from partgen.dynamics.survey import path_of
from partgen.finding import Finding, down, judge
from partgen.formulas.balance import cup_climb, cup_tip
from partgen.identity import SeatId
from partgen.plan.deck.cups import dry_centre, liquid_mass
from partgen.plan.deck.seats import Seat
from partgen.plan.train import TrainPlan

SURE = 99.0             # margins beyond that are all one
SLOWEST = 10            # mm/s


def cup_hold(train: TrainPlan):
    """Hold the acceleration at which a cup, full or empty, tips over its seat's edge or climbs its wall
    against the ride's hardest, curve and braking together, the floor leaning and the liquid at its highest
    swing."""
    for plan in train.asked:
        seats = {SeatId(plan.name, seat.cup): (seat, cup) for seat, cup in plan.cups}
        seats |= {SeatId(plan.name, ring.cup, ring.seat): (ring.as_seat(), cup) for ring, cup in plan.inserts}
        for subject, (seat, cup) in seats.items():
            yield _judged(train, subject, seat, cup)


def _judged(train, subject, seat: Seat, cup) -> Finding:
    ride = train.description.ride
    value, way = _margin(train, seat, cup)
    if value >= ride.tip_safety:
        return judge("cup-hold", subject, min(value, SURE), ride.tip_safety, "min", "1", "")
    return judge("cup-hold", subject, value, ride.tip_safety, "min", "1",
                 f"its seat, {seat.height:.0f} mm high, holds the {cup.label} {value:.2f} times over, then it "
                 f"{way}: " + _slower(train, seat, cup))


def _margin(train, seat, cup) -> tuple[float, str]:
    """Return how many times over a cup is held, full or empty, and what it does beyond that."""
    ride, track = train.description.ride, train.description.track
    sharpest = max(abs(piece.curvature) for piece in path_of(track).pieces)
    hardest = hypot(ride.speed**2 * sharpest, max(rates(train)))
    tilt, lean = radians(ride.floor_tilt), _lean(seat)
    climbs = float(cup_climb(lean, cup.friction, tilt))
    tips = min(float(cup_tip(seat.profile[-1][1] / 2, height - seat.height, tilt))
               for height in _heights(train, cup, seat.cup))
    return min((tips / hardest, "tips over the edge"), (climbs / hardest, "climbs the wall"))


def _heights(train, cup, name):
    """Yield the height [mm] of the centre of gravity over the foot, empty and full."""
    yield dry_centre(cup)
    if cup.fill > 0:
        liquid, ride = liquid_of(name, cup), train.description.ride
        swing = max(curve_swing(liquid, train.description.track, ride.speed), ramp_swing(train, liquid))
        mass = liquid_mass(cup)
        yield (cup.mass * dry_centre(cup) + mass * swung_centre(cup, swing)) / (cup.mass + mass)


def _lean(seat: Seat) -> float:
    """Return the largest lean of the seat's wall from the upright [rad]."""
    return max((atan2((b - a) / 2, high - low) for (low, a), (high, b) in zip(seat.profile, seat.profile[1:])),
               default=pi / 2)


def _slower(train, seat, cup) -> str:
    """Return the remedy: the highest lower speed at which it holds, or what else helps."""
    ride = train.description.ride
    speed = largest(SLOWEST, ceil(ride.speed), lambda speed: _margin(
        ridden(train, speed=float(speed)), seat, cup)[0] >= ride.tip_safety)
    if speed:
        return f"run at {speed} mm/s"
    return f"fill it only {down(cup.fill / 2)} mm deep, or use a cup with a foot twice as wide"
