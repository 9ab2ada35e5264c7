"""Pairs of thin wires that no described wire stands for: to lamps and light strips, and from a battery that feeds
nothing by any."""

from collections.abc import Iterator

from msgspec import Struct

from partgen.plan.wagon import WagonPlan

SLACK = 40.0            # mm of a lead beyond the way from one end to the other: it must come out with them
HOLDER = 60.0           # mm of it for the fuse in its holder
FUSED = "what feeds it, behind the supply's fuse"
TERMINALS = "the lights' terminals"
FED = "what it feeds"

Point = tuple[float, float, float]


class Pair(Struct, frozen=True):
    """Red and black from `start` to `goal`: how long [mm], and the middle between its ends (x, y, z) [mm] in wagon
    axes."""

    start: str
    goal: str
    length: float
    middle: Point


def pairs(plan: WagonPlan) -> Iterator[Pair]:
    """Yield the pair of every lamp, of both light strips, and of every battery that no wire joins."""
    yield from lamp_pairs(plan)
    half, battery = plan.body.inside[1] / 2, _battery(plan)
    for x, wall in plan.lid.strip.ways if plan.lid and plan.lid.strip else ():
        at = x, half if wall == "left" else -half, plan.body.top      # the lid is laid beside the wagon
        yield _pair("each light strip", feeding_lights(plan), at, _sources(plan, battery), plan.width)
    yield from battery_pairs(plan)


def feeding_lights(plan: WagonPlan) -> str:
    """Say where the wires of a wagon's lights lead: to its own battery, else to whatever in it feeds them."""
    battery = _battery(plan)
    return f"{battery}, behind its fuse" if battery else FUSED


def meeting(plan: WagonPlan) -> int:
    """Return how many wires of a colour meet where the wagon's lights are fed: theirs, what else its battery feeds, and
    what comes from the fuse; 0 where no more than one goes on from there."""
    battery = _battery(plan)
    on = _lit(plan) + (max(len(fed(plan, battery)), 1) if battery else 0)
    return on + 1 if _lit(plan) and on > 1 else 0


def fed(plan: WagonPlan, battery: str) -> tuple[str, ...]:
    """Return what a battery feeds by a described wire or cable; what only charges it is fed by nothing."""
    charging = {name for name, module in plan.modules if module.charges}
    others = (other for wire in plan.layout.wired if battery in wire for other in wire if other != battery)
    led = (f"{one.there.place}.{one.there.what}" for one in plan.cables.led if one.here.what == battery)
    return *(other for other in others if other not in charging), *led


def joins(plan: WagonPlan, name: str, other: str) -> str:
    """Say where what leads from a module of that `name` to `other` begins: at the lights' terminals, behind the fuse,
    where those stand between, else at the module."""
    return TERMINALS if name == _battery(plan) and meeting(plan) and other in fed(plan, name) else name


def fused(plan: WagonPlan, battery: str) -> str:
    """Say to what the lead of a battery goes that has its fuse: the one that feeds, not the one that charges it."""
    if battery == _battery(plan) and meeting(plan):
        return TERMINALS
    return " and ".join(fed(plan, battery)) or FED


def _lit(plan: WagonPlan) -> int:
    """Return how many pairs come from the wagon's lights."""
    strip = plan.lid.strip if plan.lid else None
    return len(plan.body.fittings.lamps) + len(strip.ways if strip else ())


def lamp_pairs(plan: WagonPlan) -> Iterator[Pair]:
    """Yield what feeds the lamps, in their order: from the wagon's own battery, else from wherever in it."""
    fittings, half = plan.body.fittings, plan.body.inside[1] / 2
    for x, wall in fittings.lamps:
        at = x, half if wall == "left" else -half, plan.floor_z + fittings.lamp_level
        yield _pair("each lamp", feeding_lights(plan), at, _sources(plan, _battery(plan)))


def battery_pairs(plan: WagonPlan) -> Iterator[Pair]:
    """Yield what leads from the battery to the terminals of the lights, and from each battery that no wire lets feed
    anything to the end wall nearer to it, where wires go out."""
    for one in plan.layout.placed:
        at, first = (one.x, one.y, plan.floor_z + one.z + one.height / 2), one.name == _battery(plan)
        meet = first and meeting(plan)
        if meet:
            yield _pair(one.name, TERMINALS, at, [at], HOLDER)
        if one.module.battery and not fed(plan, one.name) and not plan.cables.described:
            out = plan.length / 2 if one.x >= 0 else -plan.length / 2, 0.0, plan.floor_z
            yield _pair(TERMINALS if meet else one.name, "what else it feeds" if meet else FED, at, [out])


def _battery(plan: WagonPlan) -> str:
    """Return the battery that feeds the wagon's lights, "" for none."""
    return next((one.name for one in plan.layout.placed if one.module.battery), "")


def _sources(plan: WagonPlan, name: str) -> list[Point]:
    """Return the middle of the end of cables of that `name`, or of all where it is empty."""
    boxes = [one.box for one in plan.layout.ends if name in ("", one.name)]
    return [(sum(x) / 2, sum(y) / 2, plan.floor_z + sum(z) / 2) for x, y, z in boxes]


def _pair(start: str, goal: str, at: Point, sources: list[Point], beside: float = 0.0) -> Pair:
    """Return the pair from `at` along, across and down to the furthest of the sources, `beside` [mm] longer."""
    run, far = max((sum(abs(a - b) for a, b in zip(at, one, strict=True)), one) for one in sources)
    x, y, z = ((a + b) / 2 for a, b in zip(at, far, strict=True))
    return Pair(start, goal, run + beside + SLACK, (x, y, z))
