"""Which wagon comes first: printing, plates and steps all follow this one order, known from the plan alone."""

from collections.abc import Collection, Iterator

from partgen.paper.filenames import User
from partgen.plan.item import Beside, Item
from partgen.plan.printed import printed_mass
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan


def wagons_in_order(train: TrainPlan) -> tuple[str, ...]:
    """Return the wagons' names in the order of work: next is always the one that takes the least plastic, what it needs
    beside the track with it, so that one rolls soon."""
    order: list[str] = []
    while left := [plan.name for plan in train.wagons if plan.name not in order]:
        order.append(min(left, key=lambda name: _plastic(train, name, order)))
    return tuple(order)


def comes_with(wagon: str | None, before: Collection[str], plan: WagonPlan | Beside, item: Item) -> bool:
    """Is an item of a plan due with that `wagon`, those `before` being done? What tries the measurements is due with
    None, before all wagons; what serves several wagons with the first of them."""
    if not isinstance(plan, Beside):
        return plan.name == wagon
    return wagon in item.serves and not set(before) & set(item.serves) if wagon else not item.serves


def _plastic(train: TrainPlan, wagon: str, before: Collection[str]) -> float:
    """Return what is printed with a wagon [g]."""
    return sum(printed_mass(item.plan, train.description.printer) * item.count for plan, item in _users(train)
               if comes_with(wagon, before, plan, item))


def _users(train: TrainPlan) -> Iterator[User]:
    yield from ((plan, item) for plan in train.printed for item in plan.items)
