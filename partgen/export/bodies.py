"""A wagon as bodies with names, colours and places, for every format that keeps an assembly."""

from collections.abc import Iterator, Mapping
from typing import Any

from msgspec import Struct

from partgen.parts import record_of
from partgen.parts.record import Colour
from partgen.plan.item import Place
from partgen.plan.wagon import WagonPlan


class Body(Struct, frozen=True):
    """One printed part where it stands: its own name, that of its kind, its form (STEP text or a mesh, in its
    own frame [mm]; copies share it), and its colour as sRGB shares."""

    name: str
    kind: str
    form: Any
    place: Place
    colour: Colour


def bodies(plan: WagonPlan, forms: Mapping[tuple[str, str], Any]) -> Iterator[Body]:
    """Yield every printed part of a wagon; `forms` by (wagon name, item name)."""
    for item in [item for item in plan.items if not item.loose]:
        for number, place in enumerate(item.places, 1):
            name = f"{item.name} {number}" if item.count > 1 else item.name
            yield Body(name, item.name, forms[plan.name, item.name], place, record_of(item.part).colour)
