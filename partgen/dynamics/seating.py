"""How a cup stands in its seat: flat on its foot, or, once the ride tips it off that, leaning by the seat's play."""

from math import atan2, hypot

from partgen.describe.cup_table import Cup
from partgen.describe.turned import diameter_at
from partgen.dynamics.ramps import rates, slope
from partgen.dynamics.survey import path_of
from partgen.formulas.balance import cup_tip
from partgen.plan.deck.cups import dry_centre
from partgen.plan.deck.seats import Seat, seat_of, touched
from partgen.plan.train import TrainPlan


def sideways(train: TrainPlan, radius: float = 0.0) -> float:
    """Return the level acceleration [mm/s2] of the train in a curve of `radius` [mm], the plan's sharpest where 0."""
    return train.description.ride.speed**2 / (radius or path_of(train.description.track).min_radius)


def hardest(train: TrainPlan, radius: float = 0.0) -> float:
    """Return the ride's hardest level acceleration [mm/s2]: a curve and a start or a stop together."""
    return hypot(sideways(train, radius), max(rates(train)))


def play_lean(seat: Seat, cup: Cup) -> float:
    """Return how far [rad] a cup that is off its foot leans in its seat: its foot at one side, its wall at the other,
    where the seat reaches it last."""
    edge = touched(cup, seat.height)
    return atan2(diameter_at(seat.profile, edge) - diameter_at(cup.profile, edge), edge)


def off_its_foot(cup: Cup, height: float, tilt: float, moved: float = 0.0) -> float:
    """Return the level acceleration [mm/s2] that tips a cup off its foot, its centre of gravity at a `height` [mm], the
    floor leaning by `tilt` [rad] and the foot `moved` from under it [mm]."""
    return float(cup_tip(cup.profile[0][1] / 2 - moved, height, tilt))


def leaning(train: TrainPlan, name: str) -> float:
    """Return how far [rad] a cup leans at worst: with the floor and the slopes, and by its seat's play where the ride
    tips it off its foot, empty as it may be, so that it never stands flat for sure."""
    cup, tilt = train.description.cup[name], slope(train.description.ride)
    if hardest(train) < off_its_foot(cup, dry_centre(cup), tilt):
        return tilt
    return tilt + play_lean(seat_of(name, cup, train.description.printer), cup)
