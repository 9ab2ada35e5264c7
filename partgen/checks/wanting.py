"""What of a wagon cannot be as wished, whatever is drawn: the plan says what falls short, this says what to change."""

from collections.abc import Callable

from partgen.finding import Finding, down, judge, up
from partgen.plan.body.shell import FLOOR, RIM
from partgen.plan.context import Shortfall
from partgen.plan.deck.seats import MOST_SHARE
from partgen.plan.wagon import WagonPlan


def wanting(plan: WagonPlan) -> tuple[Finding, ...]:
    """Return a failing finding for everything that falls short in a plan."""
    return tuple(_judged(plan, one) for one in plan.wanting)


def _judged(plan: WagonPlan, one: Shortfall) -> Finding:
    check, margin, remedy = KINDS[one.kind]
    value, limit = (one.value - one.least, 0.0) if margin else (one.value, one.least)
    return judge(check, plan.who, value, limit, "min", "mm", remedy(plan, one))


def _gear(plan: WagonPlan, one: Shortfall) -> str:
    return (f"{plan.gear.carriers} and coupler seats overlap: lengthen the body to {up(one.least)} mm or shorten "
            f"{plan.gear.base_name} to {down(plan.base - (one.least - one.value))} mm")


def _modules(plan: WagonPlan, one: Shortfall) -> str:
    misfit = plan.layout.misfit
    return misfit.remedy(2 * plan.body.wall, FLOOR + RIM) if misfit else ""


def _cups(plan: WagonPlan, one: Shortfall) -> str:
    return (f"the cups need a body {up(one.least)} mm long: lengthen it by {up(one.least - one.value)} mm, leave "
            "length out, or take a cup off")


def _width(plan: WagonPlan, one: Shortfall) -> str:
    return (f"running gear and load need a body {up(one.least)} mm wide: widen it by {up(one.least - one.value)} mm or "
            "leave width out")


def _pivot(plan: WagonPlan, one: Shortfall) -> str:
    return (f"the pivot screw would hang {one.value:.1f} mm over rail top: raise coupler.height to "
            f"{up(plan.coupler.height + one.least - one.value)} mm or choose a smaller magnet")


def _spigot(plan: WagonPlan, one: Shortfall) -> str:
    return (f"{plan.wagon.screw} screws leave the pivots' spigots a wall of {one.value:.2f} mm inside their washers: "
            f"print with lines of {down(one.value / 2, 2)} mm, or choose larger screws")


def _between_wheels(plan: WagonPlan, one: Shortfall) -> str:
    return (f"no {one.name} with {plan.wagon.screw} screws goes between wheels {one.value:g} mm apart: choose smaller "
            f"screws, or wheels {up(one.least)} mm apart")


def _washer(plan: WagonPlan, one: Shortfall) -> str:
    return (f"the king pin's washer does not go between axles {one.value:g} mm apart: lengthen wheelbase to "
            f"{up(one.least)} mm or choose smaller screws")


def _insert_wall(plan: WagonPlan, one: Shortfall) -> str:
    return (f"an insert for {one.name} would have a wall of {one.value:.1f} mm at its thinnest: name a cup "
            f"{up(2 * (one.least - one.value))} mm slimmer where the seat holds it, or take it out")


def _insert_height(plan: WagonPlan, one: Shortfall) -> str:
    return (f"an insert for {one.name} would be {one.value:.1f} mm high, too low for the bead that holds it: name a "
            f"cup {up((one.least - one.value) / MOST_SHARE)} mm higher, or take it out")


KINDS: dict[str, tuple[str, bool, Callable[[WagonPlan, Shortfall], str]]] = {
    "length for gear": ("wheel-room", True, _gear),
    "room for modules": ("module-fit", True, _modules),
    "length for cups": ("module-fit", True, _cups),
    "width": ("module-fit", True, _width),
    "pivot over rails": ("coupler-height", False, _pivot),
    "wall of spigot": ("wall", False, _spigot),
    "between wheels": ("wheel-room", False, _between_wheels),
    "washer between axles": ("wheel-room", False, _washer),
    "wall of insert": ("module-fit", False, _insert_wall),
    "height of insert": ("module-fit", False, _insert_height),
}
"""By the kind of a Shortfall: the check that it fails, is it judged by what is missing or by its own value, and what to
change."""
