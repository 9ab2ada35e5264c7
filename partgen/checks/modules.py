"""Modules in the body: room round them, the way out of it, their heat, and drips."""

from collections.abc import Iterator, Sequence
from itertools import combinations

from partgen.finding import Finding, counted, judge, up
from partgen.formulas.vent import shed_by_walls, vent_area
from partgen.identity import ModulesId
from partgen.packing.box import FACES, HARD
from partgen.plan.body.layout import Placed, to_wall
from partgen.plan.body.light_strip import WAY_BESIDE
from partgen.plan.body.orientation import GAP
from partgen.plan.body.pane import FROM_RIM, MOST_DEEP
from partgen.plan.outline import between
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

RISE = 20.0             # K over the room: 45 degrees inside on a warm evening, and plastic softens near 60
MOST_FIRST = 1          # modules that one may have to take out before another: two hands, no third (no source)


def module_fit(train: TrainPlan) -> Iterator[Finding]:
    """Hold the free distance round every module against what its plugs and its neighbours need."""
    for plan in train.asked:
        gaps = [*_to_body(plan), *_to_modules(plan)]
        yield from _at_lid(plan)
        if gaps:
            spare, who, where = min(gaps)
            yield judge("module-fit", plan.who, spare, 0.0, "min", "mm", f"{who} is {-spare:.2f} mm too near the "
                        f"{where}")


def _at_lid(plan: WagonPlan) -> Iterator[Finding]:
    """Yield how clear the lid's windows stand of what else it has, how deep below the deck what looks up lies, and how
    far the ways for the wires of light strips are from the lid's clips and bosses.

    Under cups there is no window: `drip-path` tells.
    """
    lid = plan.lid
    if not lid:
        return
    for pane in lid.panes:
        room, what = lid.beside(pane)
        yield judge("module-fit", ModulesId(plan.name, tuple(pane.names)), room, FROM_RIM, "min", "mm",
                    f"the window in the lid comes {up(FROM_RIM - room)} mm too near the {what}")
    for placed in plan.layout.placed if not plan.cradle else ():
        if "top" in placed.orientation.out:
            deep = lid.depth(placed, plan.floor_z)
            yield judge("module-fit", ModulesId(plan.name, (placed.name,)), deep, MOST_DEEP, "max", "mm",
                        f"{placed.name} looks up from {deep:.1f} mm below the deck, {up(deep - MOST_DEEP)} mm deeper "
                        "than one can see: a block under it would count in its height")

    if lid.strip:
        free = lid.strip.free
        yield judge("module-fit", plan.part_id("light strip"), free, WAY_BESIDE, "min", "mm",
                    f"the lid's clips leave no way in for the wires of a light strip: {up(WAY_BESIDE - free)} "
                    "mm are missing beside one")


def _to_body(plan: WagonPlan) -> Iterator[tuple[float, str, str]]:
    """Yield (spare distance [mm], module, what is near) for every module against walls and lid."""
    inside, rim = plan.body.inside, plan.layout.space.rim
    high = inside[2] - (plan.lid.rim.depth if plan.lid else 0.0)
    for placed in plan.layout.placed:
        free = (inside[0] / 2 - placed.x - placed.length / 2, inside[0] / 2 + placed.x - placed.length / 2,
                inside[1] / 2 - placed.y - placed.width / 2, inside[1] / 2 + placed.y - placed.width / 2,
                high - placed.z - placed.height)
        for face, gap in zip(FACES[:5], free, strict=True):
            yield gap - to_wall(placed.orientation, face, rim), placed.name, "lid" if face == "top" else f"{face} wall"


def _to_modules(plan: WagonPlan) -> Iterator[tuple[float, str, str]]:
    """Yield the same for every two modules; they are apart when they are along one of the three axes."""
    for one, other in combinations(plan.layout.placed, 2):
        pairs = ((one, other), (other, one))
        yield max(_spare(*pair, axis) for pair in pairs for axis in range(3)), one.name, other.name


def _spare(one: Placed, other: Placed, axis: int) -> float:
    """Return how far [mm] `other` lies beyond `one` along `axis`, less what their faces need there."""
    low, high = ("back", "right", "bottom")[axis], ("front", "left", "top")[axis]
    near, far = one.orientation.room[FACES.index(high)], other.orientation.room[FACES.index(low)]
    return other.box[axis][0] - one.box[axis][1] - max(GAP, near, far, HARD * (near + far))


def reach(train: TrainPlan) -> Iterator[Finding]:
    """Hold how many modules are in the way of the most hidden one, once the lid is off, against one.

    A module is lifted straight up: no wall leans in over it, so only what reaches over its outline is in the way.
    """
    for plan in train.asked:
        if plan.layout.placed:
            over, hidden = max(((_over(plan.layout.placed, placed), placed.name) for placed in plan.layout.placed),
                               key=lambda pair: len(pair[0]))
            yield judge("reach", plan.who, len(over), MOST_FIRST, "max", "modules",
                        f"{', '.join(over)} must come out before {hidden}, {len(over) - MOST_FIRST} more than "
                        "hands can hold aside")


def _over(every: Sequence[Placed], placed: Placed) -> tuple[str, ...]:
    """Return the names of the modules that one meets on its way up."""
    return tuple(one.name for one in every
                 if one is not placed and one.z > placed.z and between(one.spans, placed.spans) < -1e-6)


def warm_module(train: TrainPlan) -> Iterator[Finding]:
    """Hold the free vent area of every body with warm modules against what carries their heat off.

    Walls and lid shed the first part. Every slot lets air in below and out above: its area counts half as inlet,
    half as outlet, half its height apart.
    """
    for plan in train.asked:
        warm = [placed.name for placed in plan.layout.placed if placed.module.warm]
        if not warm:
            continue
        heat = sum(placed.module.heat for placed in plan.layout.placed)
        fittings, need = plan.body.fittings, _needed(plan, heat)
        yield judge("warm-module", plan.who, fittings.vent_area, need, "min", "mm2", "the vents over "
                    f"{', '.join(warm)}, which shed {heat:g} W, are {need - fittings.vent_area:.0f} mm2 short"
                    + ("" if fittings.vents else ": no slot finds room in its sides"))


def _needed(plan: WagonPlan, heat: float) -> float:
    """Return the free area [mm2] of inlets and outlets together for a `heat` [W] inside."""
    length, width, height = plan.body.size
    heat -= shed_by_walls(2 * (length + width) * height + length * width, RISE)
    chimney = (plan.body.fittings.vent_top - plan.body.fittings.vent_low) / 2
    return 2 * vent_area(heat, max(chimney, 1.0), RISE) if heat > 0 else 0.0


def drip_path(train: TrainPlan) -> Iterator[Finding]:
    """Count the openings that lead from under a seat down to electronics."""
    for plan in train.asked:
        if plan.cradle and plan.layout.placed:
            open_to = [cutout.name for cutout in plan.layout.cutouts if cutout.wall == "top"]
            yield judge("drip-path", plan.who, len(open_to), 0, "max", "1", f"{', '.join(open_to)} "
                        f"{'looks' if len(open_to) == 1 else 'look'} up through the lid under "
                        f"{counted(len(plan.cradle.seats), 'seat')}")
