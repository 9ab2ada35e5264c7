"""Remedies that more than one check of the ride offers: each is tried against that check's question."""

from partgen.dynamics.fills import shallower
from partgen.dynamics.speeds import slower
from partgen.identity import OfWagon, SeatId
from partgen.plan.train import TrainPlan


def run_slower(train: TrainPlan, check: str, who: OfWagon) -> str:
    """Return the remedy of the highest lower speed at which a check passes; none where none does."""
    speed = slower(train, check, who)
    return f"run at {speed} mm/s" if speed else ""


def fill_less(train: TrainPlan, check: str, who: SeatId) -> str:
    """Return the remedy of the highest lower depth of a cup at which a check passes; none where none does."""
    depth = shallower(train, check, who)
    return f"fill it only {depth:g} mm deep" if depth else ""
