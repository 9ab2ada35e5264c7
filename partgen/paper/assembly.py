"""How a train is put together: the steps of its parts' records in the order in which it is printed, each with what its
picture shows."""

from collections.abc import Iterator

from msgspec.structs import replace

from partgen.dynamics.ride import RidePlan
from partgen.paper import running
from partgen.paper.sequence import comes_with, wagons_in_order
from partgen.parts import mounted
from partgen.parts.record import Step
from partgen.parts.steps.telling import named
from partgen.parts.steps.track import fill_marks
from partgen.plan.fill_gauge import FillGaugePlan
from partgen.plan.item import Beside
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan


def steps(train: TrainPlan) -> tuple[Step, ...]:
    """Return every step for the whole train: what tries the measurements first; then wagon by wagon, as they are
    printed, each with what belongs to it beside the track; at last the train's first run.

    What is done alike for several wagons is told once, with the first of them.
    """
    order, said = wagons_in_order(train), list(_beside(train, None, ()))
    told: dict[tuple[str, ...], tuple[int, int]] = {}
    for place, plan in enumerate(sorted(train.wagons, key=lambda plan: order.index(plan.name))):
        found = list(_steps(plan))
        alike = [step for step in found if step.shared]
        kind = tuple(step.text for step in alike)
        again = [_again(plan, alike, *told[kind])] if kind in told else alike
        told.setdefault(kind, (len(said) + 1, len(said) + len(alike)))
        own = [step for step in found if not step.shared]
        said += [_of(plan, step) for step in (*again, *(step for step in own if not step.on_track))]
        said += _beside(train, plan.name, order[:place])
        said += [_of(plan, step) for step in own if step.on_track]
    return (*said, *running.steps(train))


def told(ride: RidePlan) -> tuple[Step, ...]:
    """Return every step of a train as it rides: a cup that may not be filled as described has a gauge that stands too
    high, and the step that marks it says so."""
    lower = {cup.liquid.name: (cup.level, cup.level_mark) for cup in ride.cups if cup.too_full}
    hung = {item.name: item.plan for item in ride.train.trackside.items if isinstance(item.plan, FillGaugePlan)}
    found = [(step, {name: hung[name] for name in step.new if name in hung}) for step in steps(ride.train)]
    return tuple(replace(step, text=fill_marks(gauges, lower)) if gauges else step for step, gauges in found)


def _of(plan: WagonPlan, step: Step) -> Step:
    return replace(step, title=f"{plan.name}: {step.title}", wagons=(plan.name,))


def _again(plan: WagonPlan, alike: list[Step], first: int, last: int) -> Step:
    """Return the step that stands for those told as numbers `first` to `last`; its picture shows what comes of them."""
    screws = tuple(screw for step in alike for screw in step.screws)
    parts = (part for part in mounted(plan) if any(step.shared for step in part.steps(plan)))
    things = (f"{thing.count} x {thing.what.partition(',')[0]}" for part in parts for thing in part.bought(plan))
    return Step("running gear",
                f"The same once more as steps {first} to {last}, with {', '.join((named(screws), *things))}.",
                {name: 0.0 for step in alike for name in step.new}, ("frame",), screws=screws)


def _beside(train: TrainPlan, wagon: str | None, before: tuple[str, ...]) -> Iterator[Step]:
    """Yield the steps of what is printed for the track together with a wagon, or with None before all."""
    for beside in train.beside:
        yield from _steps(replace(beside, items=tuple(item for item in beside.items
                                                      if comes_with(wagon, before, beside, item))))


def _steps(plan: WagonPlan | Beside) -> Iterator[Step]:
    """Yield the steps of one wagon or of the track, each with all that is there already."""
    view: tuple[str, ...] = ()
    for step in (step for part in mounted(plan) for step in part.steps(plan)):
        there = view if step.there is None else step.there
        yield replace(step, there=there)
        if not step.aside:
            view = tuple(name for name in (*there, *step.new) if name not in step.hides)
