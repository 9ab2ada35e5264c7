"""Masses and centres of gravity of a wagon and what it carries."""

from collections.abc import Iterator, Sequence
from functools import lru_cache

from msgspec import Struct

from partgen.describe.printer_tables import Printer
from partgen.formulas.plastic import line_spacing
from partgen.plan.deck.cups import dry_centre, liquid_centre, liquid_mass
from partgen.plan.hardware import DENSITY
from partgen.plan.item import PartPlan
from partgen.plan.wagon import WagonPlan
from partgen.plan.wheel import bought_mass


class Load(Struct, frozen=True):
    """One mass [g] with its centre of gravity (x, y, z) [mm] in wagon axes; `kind` is printed, gear,
    module, cup or liquid."""

    name: str
    kind: str
    mass: float
    x: float
    y: float
    z: float


SMALL = 70.0            # mm2: a hollow that is smaller is filled whole (common practice, no source)
TURNS = 0.85            # of a hollow its lines' turns fill this share of their width over the hollow's breadth


def printed_mass(part: PartPlan, printer: Printer) -> float:
    """Return the mass [g] of a part as the printer is set: outlines and skins are solid, the rest is filled in part."""
    slicing, spacing = printer.slicing, line_spacing(printer.line_width, printer.layer)
    wall = printer.line_width / 2 + (round(slicing.perimeters) - 0.5) * spacing
    skins = 2 * round(slicing.skins) * printer.layer
    air = 0.0
    for area, breadth, height in part.cores(wall):
        share = 1 - slicing.infill / 100 - TURNS * spacing / max(breadth, spacing)
        air += area * max(height - skins, 0.0) * max(share, 0.0) if area >= SMALL else 0.0
    return (part.volume - air) * DENSITY[printer.material]


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
    for placed in plan.layout.placed:
        yield Load(placed.name, "module", placed.module.mass, placed.x, placed.y,
                   plan.floor_z + placed.z + placed.height / 2)
    for one in [one for one in plan.hung if not one.module.head]:
        yield Load(one.name, "module", one.module.mass, one.way.x, 0.0, one.face + one.size[2] / 2)
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
