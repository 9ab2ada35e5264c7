"""Every question that the ride puts to a train, and whether it holds: what speeds, ramps and fill marks are found by.
The checks of the same names give the verdicts on the same answers."""

from collections.abc import Callable, Iterable, Iterator
from typing import Literal

from partgen.dynamics.laps import poured, room_of
from partgen.dynamics.pull import grip, held_couplings, start_pull, stop_push
from partgen.dynamics.ramps import ramps_of
from partgen.dynamics.stability import (
    LEAST_SHARE,
    Stability,
    aside_in_curves,
    at_stops,
    in_curves,
    in_seats,
    on_axles,
    standing,
)
from partgen.identity import LocomotiveId, RampId, Subject
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

Answers = Iterator[tuple[Subject, float]]
Unheld = frozenset[tuple[str, Subject]]
"""(question, who) of all that does not hold."""

HAIR = 1e-9             # of rounding


def unheld(train: TrainPlan, questions: Iterable[str], radius: float = 0.0) -> Unheld:
    """Return all that does not hold on this ride; where questions look at curves, at those of `radius` [mm], the plan's
    sharpest where 0."""
    return frozenset((name, who) for name in questions for who, left in QUESTIONS[name](train, radius)
                     if not left >= -HAIR)


def holds(train: TrainPlan, questions: Iterable[str], radius: float = 0.0, excused: Unheld = frozenset()) -> bool:
    """Do all questions hold, but for what is excused? The same as `unheld`, asked no further than the first no."""
    return all(left >= -HAIR or (name, who) in excused
               for name in questions for who, left in QUESTIONS[name](train, radius))


def _spill(train: TrainPlan, radius: float, at: Literal["curves", "ramps"]) -> Answers:
    return ((who, room_of(train, liquid) - getattr(risen, at)) for who, liquid, risen in poured(train, radius))


def _spill_stop(train: TrainPlan, radius: float) -> Answers:
    yield from _spill(train, radius, "ramps")
    if train.description.ride.ramp == "shaped":
        yield from ((RampId(name), ramp.wished - ramp.time)
                    for name, ramp in zip(("start", "stop"), ramps_of(train), strict=True))


def _tip(train: TrainPlan, stands: Iterator[tuple[WagonPlan, Stability]]) -> Answers:
    return ((plan.who, stands.margin() - train.description.ride.tip_safety) for plan, stands in stands)


QUESTIONS: dict[str, Callable[[TrainPlan, float], Answers]] = {
    "spill-curve": lambda train, radius: _spill(train, radius, "curves"),
    "spill-stop": _spill_stop,
    "tip-curve": lambda train, radius: _tip(train, in_curves(train, radius)),
    "tip-stop": lambda train, _: _tip(train, at_stops(train)),
    "tip-standing": lambda train, _: _tip(train, standing(train)),
    "cup-hold": lambda train, radius: (
        (who, held.times - train.description.ride.tip_safety) for who, held in in_seats(train, radius)),
    "axle-load": lambda train, _: ((plan.who, state.value - LEAST_SHARE) for plan, state in on_axles(train)),
    "string-line": lambda train, radius: (
        (plan.who, 1 - aside.share) for plan, aside in aside_in_curves(train, radius)),
    "coupler-pull": lambda train, _: (
        (who, held - train.description.ride.pull_safety * needed) for who, _, held, needed in held_couplings(train)),
    "adhesion": lambda train, _: iter([
        (LocomotiveId(), grip(train) - train.description.ride.pull_safety * max(start_pull(train), stop_push(train)))]),
}
"""By the name of its check: whom a question is about, and what is left to each until it fails, 0 at least where it
holds."""
