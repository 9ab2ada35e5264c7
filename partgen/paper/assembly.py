"""How a train is put together: the steps of its parts' records in order, each with what its picture shows."""

from collections.abc import Iterator

from msgspec.structs import replace

from partgen.parts import mounted
from partgen.parts.record import Step
from partgen.plan.trackside import Trackside
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan


def steps(train: TrainPlan) -> tuple[Step, ...]:
    """Return every step for the whole train: what tries the measurements first, running gear for all wagons alike
    together, then wagon by wagon, and at last what else belongs to the track; no wagons are named where it is done."""
    shared: dict[tuple[str, ...], tuple[list[Step], list[str]]] = {}
    own = []
    for plan in train.wagons:
        found = list(_steps(plan))
        alike = [step for step in found if step.shared]
        shared.setdefault(tuple(step.text for step in alike), (alike, []))[1].append(plan.name)
        own += [replace(step, title=f"{plan.name}: {step.title}", wagons=(plan.name,)) for step in found
                if not step.shared]
    beside = list(_steps(train.trackside))
    return (*(step for step in beside if step.first),
            *(_for(names, step, len(shared) > 1) for alike, names in shared.values() for step in alike), *own,
            *(step for step in beside if not step.first))


def _for(names: list[str], step: Step, kinds: bool) -> Step:
    """Return a shared step for the wagons of those names; its title names a single one where there are other kinds."""
    title = f"{names[0]}: {step.title}" if kinds and len(names) == 1 else step.title
    return replace(step, title=title, wagons=tuple(names))


def _steps(plan: WagonPlan | Trackside) -> Iterator[Step]:
    """Yield the steps of one wagon or of the track, each with all that is there already."""
    view: tuple[str, ...] = ()
    for step in (step for part in mounted(plan) for step in part.steps(plan)):
        there = view if step.there is None else step.there
        yield replace(step, there=there)
        if not step.aside:
            view = tuple(name for name in (*there, *step.new) if name not in step.hides)
