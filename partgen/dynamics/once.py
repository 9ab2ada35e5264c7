"""Asking a train once: what several questions of one train ask for is answered the first time and kept."""

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec, TypeVar

from partgen.plan.train import TrainPlan

MOST = 64               # answers that are kept of each question

Rest = ParamSpec("Rest")
Answer = TypeVar("Answer")


def once(ask: Callable[Concatenate[TrainPlan, Rest], Answer]) -> Callable[Concatenate[TrainPlan, Rest], Answer]:
    """Return a question of a train, and of anything hashable beside it, that is worked out once for each train.

    Trains are told apart as objects, not by what is in them: looking at every value of one takes longer than most
    answers.
    """
    answers: dict[tuple[object, ...], tuple[TrainPlan, Answer]] = {}

    @wraps(ask)
    def asked(train: TrainPlan, *rest: Rest.args, **more: Rest.kwargs) -> Answer:
        key = id(train), rest, *more.items()
        known = answers.get(key)
        if known is None or known[0] is not train:      # an object that is gone may leave its number to another
            if len(answers) >= MOST:
                answers.clear()
            known = answers[key] = train, ask(train, *rest, **more)
        return known[1]
    return asked
