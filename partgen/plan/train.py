"""The train resolved: its wagons in running order with the tables that the checks hold them to."""

from dataclasses import dataclass

from partgen.describe.description import Description
from partgen.plan import wagon as wagons
from partgen.plan.wagon import WagonPlan


@dataclass(frozen=True, slots=True)
class TrainPlan:
    """A resolved train: the description it came from and its wagons, front to back."""

    description: Description
    wagons: tuple[WagonPlan, ...]

    @property
    def title(self) -> str:
        """The title of the description."""
        return self.description.title


    @property
    def stations(self) -> tuple[float, ...]:
        """Where the wagons' middles stand along the track [mm], coupled, front one first; the train's middle is 0."""
        gap, here, places = self.description.coupler.gap, 0.0, []
        for plan in self.wagons:
            places.append(here - plan.length / 2)
            here -= plan.length + gap
        middle = (here + gap) / 2
        return tuple(place - middle for place in places)


def resolve(description: Description) -> TrainPlan:
    """Resolve every wagon of `description` in running order; pure arithmetic, no CAD."""
    by_name = {wagon.name: wagon for wagon in description.wagon}
    order = description.train.order or tuple(by_name)
    return TrainPlan(description, tuple(wagons.resolve(by_name[name], description) for name in order))
