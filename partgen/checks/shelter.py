"""Electronics in a body keep dry under a spill, and their warmth gets out."""

from partgen.finding import judge, up
from partgen.formulas.vent import shed_by_walls, vent_area
from partgen.plan.fittings import VENT, VENT_PITCH
from partgen.plan.train import TrainPlan

WARM = 1.0              # W from a module that gets warm to the touch (common practice, no source)
RISE = 20.0             # K over the room: 45 degrees inside on a warm evening, and plastic softens near 60


def warm_module(train: TrainPlan):
    """Hold the free vent area of every body with warm modules against what carries their heat off.

    Walls and lid shed the first part. Every slot lets air in below and out above: its area counts half as inlet,
    half as outlet, half its height apart.
    """
    for plan in train.asked:
        warm = [placed.name for placed in plan.layout.placed if placed.module.warm]
        if not warm:
            continue
        fittings, need = plan.body.fittings, _needed(plan, len(warm))
        missing, slots = need - fittings.vent_area, len(fittings.vents)
        cure = (f"make the body {up(missing / (slots * VENT))} mm higher" if slots else
                f"make the body {VENT_PITCH:g} mm longer, so that slots find room in its sides")
        yield judge("warm-module", plan.name, fittings.vent_area, need, "min", "mm2",
                    f"the vents over {', '.join(warm)} are {missing:.0f} mm2 short: {cure}, or put one of them into "
                    "another wagon")


def _needed(plan, count: int) -> float:
    """Return the free area [mm2] of inlets and outlets together."""
    length, width, height = plan.body.size
    heat = count * WARM - shed_by_walls(2 * (length + width) * height + length * width, RISE)
    chimney = (plan.body.fittings.vent_top - plan.body.fittings.vent_low) / 2
    if heat <= 0:
        return 0.0
    return 2 * vent_area(heat, max(chimney, 1.0), RISE)


def drip_path(train: TrainPlan):
    """Count the openings that lead from under a seat down to electronics."""
    for plan in train.asked:
        if not plan.cradle or not plan.layout.placed:
            continue
        open_to = [cutout.name for cutout in plan.layout.cutouts if cutout.wall == "top"]
        yield judge("drip-path", plan.name, len(open_to), 0, "max", "1",
                    f"{', '.join(open_to)} looks up through the lid under {len(plan.cradle.seats)} seats: let it look "
                    "out at a side, or put it into a wagon without cups")
