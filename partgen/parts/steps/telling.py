"""What all steps are told with: screws, forces, parts of a kind, and how far new parts stand off in a picture."""

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Any

from partgen.finding import counted
from partgen.parts.record import Step
from partgen.plan.fasteners import Fastener
from partgen.plan.wagon import WagonPlan

BELOW, ABOVE = -0.16, 0.2       # of the body's length: how far new parts stand off in the picture


def push(force: float) -> str:
    """Say a force [N] as a hand and a kitchen scale know it."""
    return f"{force:.0f} N ({force / 9.81:.1f} kg on a kitchen scale)"


def items_of(plan: WagonPlan, part: str) -> tuple[str, ...]:
    """Return the names of a wagon's items of that kind of part."""
    return tuple(item.name for item in plan.items if item.part == part)


def screwed(screws: Iterable[Fastener], title: str, text: str, new: dict[str, float], **more: Any) -> Step:
    """Return a step that puts in screws; in its text they stand for {}."""
    used = tuple(screws)
    return Step(title, text.replace("{}", f"Screw with {named(used)}."), new, screws=used, **more)


def named(used: Sequence[Fastener]) -> str:
    """Say which screws, nuts and washers a step takes."""
    said = [f"{count} x {name} x {length} mm ({standard})" for (name, length, standard), count in
            Counter((one.screw.name, one.length, one.standard) for one in used).items()]
    for word, count in (("washer", sum(bool(one.washer) for one in used)), ("nut", sum(bool(one.nut) for one in used))):
        said += [counted(count, word)] if count else []
    return ", ".join(said)
