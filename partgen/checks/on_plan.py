"""The registry of checks that need no solid: id to function of a train plan."""

from collections.abc import Callable, Container, Iterable

from partgen.checks import by_id
from partgen.checks.bed import bed
from partgen.checks.coupling import (
    adaptor,
    adhesion,
    body_gap,
    coupler_height,
    coupler_pull,
    coupler_swing,
    string_line,
)
from partgen.checks.drinks import spill_curve, spill_stop
from partgen.checks.fastening import grip, mount_fit
from partgen.checks.handles import handle_room
from partgen.checks.modules import drip_path, module_fit, reach, warm_module
from partgen.checks.openings import opening
from partgen.checks.sensor import sensor_gap
from partgen.checks.snap import snap_force, snap_strain
from partgen.checks.tip import axle_load, cup_hold, tip_curve, tip_standing, tip_stop
from partgen.checks.track import inner_throw, obstacle, outer_throw, passing, track_plan
from partgen.checks.wheels import attack_angle, press_fit, twist, under_clearance, wheel_play, wheel_room, wheelbase
from partgen.checks.wires import supply, wire_load, wire_slack, wire_way
from partgen.checks.wishes import ballast, name_plate, wanting
from partgen.finding import Finding
from partgen.plan.train import TrainPlan

PLAN_CHECKS: dict[str, Callable[[TrainPlan], Iterable[Finding]]] = by_id(
    track_plan, wheel_play, wheelbase, attack_angle, twist, inner_throw, outer_throw, obstacle, passing,
    coupler_swing, body_gap, coupler_height, adaptor, string_line, coupler_pull, adhesion,
    axle_load, tip_curve, tip_stop, tip_standing, cup_hold, handle_room, spill_curve, spill_stop,
    wheel_room, under_clearance, sensor_gap, module_fit, opening, reach, warm_module, drip_path, snap_strain,
    snap_force, grip, press_fit, mount_fit, name_plate, ballast, bed, wire_way, wire_slack, wire_load,
    supply)
"""In the order in which their findings are told."""

CARRIED = frozenset({"inner-throw", "outer-throw", "obstacle", "passing", "coupler-swing", "body-gap", "string-line",
                     "coupler-pull", "tip-curve", "spill-curve", "wire-slack"})
"""Those that carry the train over its whole plan: where a first failure is enough, they are asked last."""


SIZES = frozenset({"length for gear", "length for cups", "room for modules", "width"})
"""Kinds of a Shortfall with which a wagon's size is not known yet, nor anything that hangs on it."""


def run(train: TrainPlan, leave_out: Container[str] = (), only: Container[str] | None = None) -> tuple[Finding, ...]:
    """Return the findings of every paper check but those named in `leave_out`, what the plan falls short in first.

    `only` names the checks wanted, all when None. Of a wagon that cannot have the size that is wished nothing else is
    told to fail: it would follow from that.
    """
    return causes(train, every(train, leave_out, only))


def every(train: TrainPlan, leave_out: Container[str] = (), only: Container[str] | None = None) -> tuple[Finding, ...]:
    """Return the same with what follows from a wagon that cannot have its size."""
    short = [finding for plan in train.asked for finding in wanting(plan)]
    known = {(finding.check, finding.subject) for finding in short}
    found = [finding for name, check in PLAN_CHECKS.items() if name not in leave_out and (only is None or name in only)
             for finding in check(train)]
    return (*short, *(one for one in found if (one.check, one.subject) not in known))


def causes(train: TrainPlan, found: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return findings without the failures of wagons that cannot have the size that is wished: those follow from it."""
    short = {(finding.check, finding.subject) for plan in train.asked for finding in wanting(plan)}
    unknown = unsized(train)
    return tuple(one for one in found if one.verdict != "fail" or (one.check, one.subject) in short
                 or not any(map(one.subject.concerns, unknown)))


def unsized(train: TrainPlan) -> frozenset[str]:
    """Return the names of the wagons asked about that cannot have the size that is wished."""
    return frozenset(plan.name for plan in train.asked if any(one.kind in SIZES for one in plan.wanting))
