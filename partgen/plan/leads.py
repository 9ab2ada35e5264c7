"""Pairs of thin wires that no described wire stands for: to lamps and light strips, and from a battery without any."""

from collections.abc import Iterator

from msgspec import Struct

from partgen.plan.wagon import WagonPlan

SLACK = 40.0            # mm of a lead beyond the way from one end to the other: it must come out with them
FUSED = "what feeds it, behind the supply's fuse"

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
    half = plan.body.inside[1] / 2
    for x, wall in plan.lid.strip.ways if plan.lid and plan.lid.strip else ():
        at = x, half if wall == "left" else -half, plan.body.top
        yield _pair("each light strip", FUSED, at, _sources(plan, ""), plan.width)    # the lid is laid beside the wagon
    yield from battery_pairs(plan)


def lamp_pairs(plan: WagonPlan) -> Iterator[Pair]:
    """Yield what feeds the lamps, in their order: from the wagon's own battery, else from wherever in it."""
    fittings, half = plan.body.fittings, plan.body.inside[1] / 2
    battery = next((one.name for one in plan.layout.placed if one.module.battery), "")
    for x, wall in fittings.lamps:
        at = x, half if wall == "left" else -half, plan.floor_z + fittings.lamp_level
        yield _pair("each lamp", f"{battery}, behind its fuse" if battery else FUSED, at, _sources(plan, battery))


def battery_pairs(plan: WagonPlan) -> Iterator[Pair]:
    """Yield what leads from each battery that no wire joins to the end wall nearer to it, where wires go out."""
    joined = {name for wire in plan.layout.wired for name in wire}
    for one in plan.layout.placed:
        if one.module.battery and one.name not in joined:
            at = one.x, one.y, plan.floor_z + one.z + one.height / 2
            out = plan.length / 2 if one.x >= 0 else -plan.length / 2, 0.0, plan.floor_z
            yield _pair(one.name, "what it feeds", at, [out])


def _sources(plan: WagonPlan, name: str) -> list[Point]:
    """Return the middle of the end of cables of that `name`, or of all where it is empty."""
    boxes = [one.box for one in plan.layout.ends if name in ("", one.name)]
    return [(sum(x) / 2, sum(y) / 2, plan.floor_z + sum(z) / 2) for x, y, z in boxes]


def _pair(start: str, goal: str, at: Point, sources: list[Point], beside: float = 0.0) -> Pair:
    """Return the pair from `at` along, across and down to the furthest of the sources, `beside` [mm] longer."""
    run, far = max((sum(abs(a - b) for a, b in zip(at, one, strict=True)), one) for one in sources)
    x, y, z = ((a + b) / 2 for a, b in zip(at, far, strict=True))
    return Pair(start, goal, run + beside + SLACK, (x, y, z))
