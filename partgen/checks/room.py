"""Room inside the wagon: wheels under the frame, modules in the body."""

from partgen.finding import judge
from partgen.plan.train import TrainPlan

LEAST_WHEEL_GAP = 0.8   # mm; axle slack and a warped frame use up about half (common practice, no source)


def wheel_room(train: TrainPlan):
    """Hold the smallest gap between turning wheels and what is fixed against what they need."""
    for plan in train.wagons:
        gaps = dict(_gaps(plan))
        place = min(gaps, key=gaps.get)
        yield judge("wheel-room", plan.name, gaps[place], LEAST_WHEEL_GAP, "min", "mm",
                    f"wheels come within {gaps[place]:.2f} mm of the {place}: lengthen the body by "
                    f"{2 * (LEAST_WHEEL_GAP - gaps[place]):.1f} mm or shorten the wheelbase by as much")


def _gaps(plan):
    """Yield (what, gap [mm]) for everything the wheels of an axle slid outermost pass."""
    gear, wheels = plan.gear, plan.wheelset
    yield "frame", gear.frame_bottom - gear.wheel_top
    beyond = plan.frame.seats[0].x - plan.coupling.guard_outer - plan.wheelbase / 2 - plan.travel
    if plan.coupling.guard_outer > wheels.back_to_back / 2:
        yield "coupler seat", beyond - wheels.flange_diameter / 2
    yield "coupler seat", beyond - gear.holder.half_length + LEAST_WHEEL_GAP
    yield "other axle", plan.wheelbase - 2 * plan.travel - wheels.flange_diameter


def module_fit(train: TrainPlan):
    """Hold the room inside each body against what its modules need with plugs and gaps."""
    for plan in train.wagons:
        if not plan.row.placed:
            continue
        inside_x, inside_y, inside_z = plan.body.inside
        free = {"long": inside_x - plan.row.length, "wide": inside_y - plan.row.width,
                "high": inside_z - (plan.lid.rim if plan.lid else 0.0) - plan.row.height}
        tightest = min(free, key=free.get)
        yield judge("module-fit", plan.name, free[tightest], 0.0, "min", "mm",
                    f"the body is {-free[tightest]:.1f} mm not {tightest} enough for "
                    f"{', '.join(p.name for p in plan.row.placed)}: enlarge it by as much or take a module out")
