"""What carries a wagon: two axles in holders that slide under the frame, or two bogies that turn under it."""

from partgen.plan.context import Context
from partgen.plan.coupling import CouplingPlan
from partgen.plan.running_gear import bogie, two_axle
from partgen.plan.running_gear.gear import RunningGear


def resolve(context: Context, coupling: CouplingPlan, less_travel: float = 0.0, length: float | None = None
            ) -> RunningGear:
    """Resolve what carries the wagon; axle holders travel `less_travel` [mm] less than wished, bogies give no way. The
    body is as long as it is wished, or as `length` [mm] says, or as short as may be."""
    if context.wagon.pivot_spacing is not None:
        return bogie.resolve(context, coupling, length or context.wagon.length or 0.0)
    return two_axle.resolve(context, coupling, less_travel)
