"""What is fastened holds: enough thread in plastic and nuts, and no screw through to the other side."""

from collections.abc import Iterator

from partgen.describe.description import Description
from partgen.finding import Finding, judge, up
from partgen.parts import fasteners
from partgen.parts.record import Fastener
from partgen.plan.train import TrainPlan


def grip(train: TrainPlan) -> Iterator[Finding]:
    """Hold the thread of the worst screw of every kind against what must hold, and its end within its hole."""
    for plan in train.asked:
        screws = fasteners(plan)
        for what in dict.fromkeys(one.what for one in screws):
            kind = [one for one in screws if one.what == what]
            weak, deep = min(kind, key=lambda one: one.thread - one.least), min(kind, key=lambda one: one.spare)
            yield judge("grip", plan.part_id(what), weak.thread, weak.least, "min", "mm",
                        f"{weak.screw.name} holds by {weak.thread:.1f} mm of thread where {weak.least:.1f} mm should: "
                        f"{_cure(weak, train.description, weak.least - weak.thread)}")
            yield judge("grip", plan.part_id(what), deep.spare, 0.0, "min", "mm",
                        f"{deep.screw.name} x {deep.length} mm comes {up(-deep.spare)} mm too far: "
                        f"{_cure(deep, train.description, -deep.spare)}")


def _cure(one: Fastener, description: Description, missing: float) -> str:
    if one.what not in description.module:
        return f"choose screws smaller than {one.screw.name}"
    standoff = description.module[one.what].standoff
    return f"raise module.{one.what}.standoff to {up(standoff + missing)} mm, or leave it out"
