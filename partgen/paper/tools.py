"""The tools that a train takes, from what its steps do."""

from partgen.paper.assembly import steps
from partgen.plan.train import TrainPlan


def tools(train: TrainPlan) -> tuple[str, ...]:
    """Return every tool once: keys for the screws by size, then what the steps name, as they come."""
    told = steps(train)
    keys = sorted({screw.key for step in told for screw in step.screws})
    return tuple(dict.fromkeys((*keys, *(tool for step in told for tool in step.tools))))
