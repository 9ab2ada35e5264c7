"""Masses and centres of gravity of a wagon and what it carries."""

from functools import lru_cache

from msgspec import Struct

from partgen.plan.deck.cradle import dry_centre, liquid_centre, liquid_mass
from partgen.plan.hardware import DENSITY
from partgen.plan.wagon import WagonPlan


class Load(Struct, frozen=True):
    """One mass [g] with its centre of gravity (x, y, z) [mm] in wagon axes; `kind` is printed, gear,
    module, cup or liquid."""

    name: str
    kind: str
    mass: float
    x: float
    y: float
    z: float


@lru_cache(maxsize=256)
def loads(plan: WagonPlan, material: str) -> tuple[Load, ...]:
    """Return every mass of the wagon, printed parts taken as solid (they are nearly all wall)."""
    return (*_printed(plan, DENSITY[material]), *_gear(plan), *_modules(plan), *_cups(plan))


def _printed(plan, density):
    for item in [item for item in plan.items if not item.loose]:
        for place in item.places:
            yield Load(item.name, "printed", item.plan.volume * density, place.x, place.y,
                       place.z + item.plan.centroid_z)


def _gear(plan):
    for x in plan.axles:
        yield Load("wheelset", "gear", plan.wheelset.mass, x, 0.0, plan.gear.axle_z)


def _modules(plan):
    for placed in plan.layout.placed:
        yield Load(placed.name, "module", placed.module.mass, placed.x, placed.y,
                   plan.floor_z + placed.z + placed.height / 2)


def _cups(plan):
    for seat, cup in plan.cups:
        yield Load(seat.cup, "cup", cup.mass, seat.x, seat.y, plan.deck_z + dry_centre(cup))
        yield Load(seat.cup, "liquid", liquid_mass(cup), seat.x, seat.y, plan.deck_z + liquid_centre(cup))


def centre(parts) -> tuple[float, tuple[float, float, float]]:
    """Return total mass [g] and centre of gravity (x, y, z) [mm] of several loads."""
    total = sum(load.mass for load in parts)
    if not total:
        return 0.0, (0.0, 0.0, 0.0)
    return total, tuple(sum(load.mass * getattr(load, axis) for load in parts) / total for axis in "xyz")
