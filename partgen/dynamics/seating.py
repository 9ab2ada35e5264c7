"""How a cup stands in its seat: flat on its foot, or, once the ride tips it off that, leaning by the seat's play."""

from math import atan, atan2, radians

from msgspec import Struct

from partgen.describe.cup_table import Cup
from partgen.describe.train_tables import Ride
from partgen.describe.turned import diameter_at
from partgen.dynamics.once import once
from partgen.dynamics.survey import path_of
from partgen.formulas.balance import cup_tip
from partgen.plan.deck.cups import dry_centre
from partgen.plan.deck.seats import Seat, seat_of, touched
from partgen.plan.train import TrainPlan


def slope(ride: Ride) -> float:
    """Return the steepest slope that the track may have [rad]: laid in, with the floor's lean on top."""
    return atan(ride.gradient / 100) + radians(ride.floor_tilt)


def sideways(train: TrainPlan, radius: float = 0.0) -> float:
    """Return the level acceleration [mm/s2] of the train in a curve of `radius` [mm], the plan's sharpest where 0, at
    the upper end of its speed's scatter."""
    return train.description.ride.fastest**2 / (radius or path_of(train.description.track).min_radius)


def play_lean(seat: Seat, cup: Cup) -> float:
    """Return how far [rad] a cup that is off its foot leans in its seat: its foot at one side, its wall at the other,
    where the seat reaches it last."""
    edge = touched(cup, seat.height)
    return atan2(diameter_at(seat.profile, edge) - diameter_at(cup.profile, edge), edge)


def off_its_foot(cup: Cup, height: float, tilt: float, moved: float = 0.0) -> float:
    """Return the level acceleration [mm/s2] that tips a cup off its foot, its centre of gravity at a `height` [mm], the
    floor leaning by `tilt` [rad] and the foot `moved` from under it [mm]."""
    return float(cup_tip(cup.profile[0][1] / 2 - moved, height, tilt))


class Standing(Struct, frozen=True):
    """How a cup leans at worst [rad]: `flat` on its foot with the floor and the slopes, `loose` by its seat's play on
    top, once a level acceleration of `tips` [mm/s2] has it off its foot, empty as it may be: it never stands flat for
    sure from there."""

    flat: float
    loose: float
    tips: float

    def leaning(self, hardest: float) -> float:
        """Return how far [rad] it leans on a ride whose hardest level acceleration is `hardest` [mm/s2]."""
        return self.flat if hardest < self.tips else self.loose


@once
def standing_of(train: TrainPlan, name: str) -> Standing:
    """Return how a kind of cup stands in its seats."""
    cup, flat = train.description.cup[name], slope(train.description.ride)
    return Standing(flat, flat + play_lean(seat_of(name, cup, train.description.printer), cup),
                    off_its_foot(cup, dry_centre(cup), flat))
