"""Trying values: the same train on another ride or filled otherwise, and the best value by halving over whole steps."""

from collections.abc import Callable

from msgspec.structs import replace

from partgen.plan.train import TrainPlan, trackside_of

Passes = Callable[[int], bool]


def largest(low: int, high: int, passes: Passes) -> int | None:
    """Return the largest step found from `low` up to, not with, `high` that passes; None where `low` does not."""
    if low >= high or not passes(low):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if passes(middle) else (low, middle)
    return low


def ridden(train: TrainPlan, **changes: object) -> TrainPlan:
    """Return the same wagons on another ride, its fields as in `changes`."""
    ride = train.description.ride.model_copy(update=changes)
    description = train.description.model_copy(update={"ride": ride})
    return replace(train, description=description, trackside=trackside_of(description, train.wagons))


def filled(train: TrainPlan, depths: dict[str, float]) -> TrainPlan:
    """Return the same train with cups filled to `depths` by name [mm]; no wagon's shape depends on what is in them."""
    cups = {name: cup.model_copy(update={"fill": depths.get(name, cup.fill), "volume": None, "full_mass": None})
            for name, cup in train.description.cup.items()}
    wagons = tuple(replace(plan, cups=tuple((seat, cups[seat.cup]) for seat, _ in plan.cups),
                           inserts=tuple((ring, cups[ring.cup]) for ring, _ in plan.inserts))
                   for plan in train.wagons)
    description = train.description.model_copy(update={"cup": cups})
    return replace(train, wagons=wagons, description=description, trackside=trackside_of(description, wagons))
