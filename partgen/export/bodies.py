"""A wagon as bodies with names, colours and places, for every format that keeps an assembly."""

from collections.abc import Iterator, Mapping
from typing import Any

from msgspec import Struct

from partgen.parts import record_of
from partgen.parts.record import Colour
from partgen.plan.item import Place
from partgen.plan.wagon import WagonPlan


class Body(Struct, frozen=True):
    """One thing where it stands: its own name, that of its kind, its form (STEP text or a mesh, in its own frame
    [mm]; copies share it), its colour as sRGB shares, and where its z axis points: not up only where it is turned on a
    lathe, so that its yaw is nothing."""

    name: str
    kind: str
    form: Any
    place: Place
    colour: Colour
    axis: tuple[float, float, float] = (0.0, 0.0, 1.0)


def bodies(plan: WagonPlan, forms: Mapping[tuple[str, str], Any]) -> Iterator[Body]:
    """Yield every printed part of a wagon; `forms` by (wagon name, item name)."""
    for item in [item for item in plan.items if not item.loose]:
        for number, place in enumerate(item.places, 1):
            name = f"{item.name} {number}" if item.count > 1 else item.name
            yield Body(name, item.name, forms[plan.name, item.name], place, record_of(item.part).colour)
