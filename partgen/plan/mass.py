"""Masses and centres of gravity of a wagon and what it carries."""

from collections.abc import Iterator, Sequence
from functools import lru_cache

from msgspec import Struct

from partgen.describe.printer_tables import Printer
from partgen.plan.deck.cups import dry_centre, liquid_centre, liquid_mass
from partgen.plan.printed import printed_mass
from partgen.plan.small_things import hardware, wiring
from partgen.plan.wagon import WagonPlan
from partgen.plan.wheel import bought_mass


class Load(Struct, frozen=True):
    """One mass [g] with its centre of gravity (x, y, z) [mm] in wagon axes; `kind` is printed, gear, hardware,
    ballast, module, wiring, cup or liquid."""

    name: str
    kind: str
    mass: float
    x: float
    y: float
    z: float


@lru_cache(maxsize=256)
def loads(plan: WagonPlan, printer: Printer) -> tuple[Load, ...]:
    """Return every mass of the wagon in its place: what is printed, then what is bought."""
    return tuple(_loads(plan, printer))


def _loads(plan: WagonPlan, printer: Printer) -> Iterator[Load]:
    for item in [item for item in plan.items if not item.loose]:
        mass, z = printed_mass(item.plan, printer), item.plan.centroid_z
        yield from (Load(item.name, "printed", mass, place.x, place.y, place.z + z) for place in item.places)
    for x in plan.gear.axles:
        yield Load("wheelset", "gear", bought_mass(plan.wheelset), x, 0.0, plan.gear.axle_z)
    yield from (Load(name, "hardware", mass, *at) for name, mass, at in hardware(plan))
    if (ballast := plan.frame.ballast).cells:
        yield Load("ballast", "ballast", ballast.mass, 0.0, 0.0, plan.frame.top - ballast.depth + ballast.filled / 2)
    for placed in plan.layout.placed:
        yield Load(placed.name, "module", placed.module.mass, placed.x, placed.y,
                   plan.floor_z + placed.z + placed.height / 2)
    for one in [one for one in plan.hung if not one.module.head]:
        yield Load(one.name, "module", one.module.mass, one.way.x, 0.0, one.face + one.size[2] / 2)
    yield from (Load(name, "wiring", mass, *at) for name, mass, at in wiring(plan))
    for seat, cup in plan.cups:
        yield Load(seat.cup, "cup", cup.mass, seat.x, seat.y, plan.deck_z + dry_centre(cup))
        yield Load(seat.cup, "liquid", liquid_mass(cup), seat.x, seat.y, plan.deck_z + liquid_centre(cup))


def centre(parts: Sequence[Load]) -> tuple[float, tuple[float, float, float]]:
    """Return total mass [g] and centre of gravity (x, y, z) [mm] of several loads."""
    total = sum(load.mass for load in parts)
    if not total:
        return 0.0, (0.0, 0.0, 0.0)
    x, y, z = (sum(load.mass * getattr(load, axis) for load in parts) / total for axis in "xyz")
    return total, (x, y, z)
