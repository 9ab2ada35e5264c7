"""Where the cables of a wagon go through its walls, and how long they are inside it; wagon axes, all in mm."""

from collections.abc import Sequence

from partgen.identity import TRACK
from partgen.packing.cables import End, shortest
from partgen.plan.body.layout import Layout
from partgen.plan.body.opening import WallOpening
from partgen.plan.cables import Led
from partgen.plan.leads import SLACK
from partgen.plan.wagon import WagonPlan

Spot = tuple[float, float, float]


def inside(plan: WagonPlan, led: Led) -> float:
    """Return how long [mm] a cable is from a module to the end wall, with enough to take the module out; on to the
    nearest wheel where it ends at the track."""
    out, here = way_out(plan, led), _module(plan.layout, led)
    run = 0.0
    if out and here is not None:
        ends, at, low = here
        x, y, z = out
        twice, *_ = shortest(ends, at, ((0.0, 0.0, 0.0),), (x, y))
        run = twice / 2 + abs(z - plan.floor_z - low)
    if led.there.place.casefold() == TRACK:
        run += plan.length / 2 - max(plan.gear.axles) + plan.floor_z + plan.wheelset.back_to_back / 2
    return run + SLACK


def _module(layout: Layout, led: Led) -> tuple[Sequence[End], tuple[float, float], float] | None:
    """Return the plug ends of the module that a cable ends at, its corner, and its middle over the floor [mm]."""
    found = [k for k, one in enumerate(layout.ends) if one.name == led.here.what]
    if len(found) < led.here.which:
        return None
    k = found[led.here.which - 1]
    ends, at = layout.plugged(k)
    return ends, at, sum(layout.ends[k].box[2]) / 2


def place_of(plan: WagonPlan, led: Led) -> Spot | None:
    """Return the middle (x, y, z) [mm] of the module that a cable ends at."""
    found = [one.box for one in plan.layout.ends if one.name == led.here.what][led.here.which - 1:]
    if not found:
        return None
    (x0, x1), (y0, y1), (z0, z1) = found[0]
    return (x0 + x1) / 2, (y0 + y1) / 2, plan.floor_z + (z0 + z1) / 2


def way(plan: WagonPlan, wall: str) -> WallOpening | None:
    """Return the way for cables through an end wall, None where it has no room."""
    return next((one for one in plan.body.fittings.openings if one.wall == wall and not one.names), None)


def eye(plan: WagonPlan, wall: str) -> WallOpening | None:
    """Return the eye for a tie beside that way."""
    return next((one for one in plan.body.fittings.openings[::-1] if one.wall == wall and not one.names
                 and one is not way(plan, wall)), None)


def way_out(plan: WagonPlan, led: Led) -> Spot | None:
    """Return the middle (x, y, z) [mm] of the way that a cable leaves a wagon through."""
    found, sign = way(plan, led.wall), 1 if led.wall == "front" else -1
    return None if found is None else (
        sign * plan.length / 2, sign * found.along, plan.floor_z + found.low + found.height / 2)
