"""What hangs lowest under a wagon, over whatever lies between the rails."""

from partgen.finding import judge, up
from partgen.plan.train import TrainPlan
from partgen.plan.trackside import flange, marker_top

LEAST_CLEARANCE = 0.5   # mm; a joint of home-laid track stands up by less (common practice, no source)


def under_clearance(train: TrainPlan):
    """Hold the smallest gap under every wagon, flanges included, over sleepers and markers."""
    track = train.description.track
    marked = [item.plan for item in train.trackside.items if item.part == "marker"]
    ground = max([-track.rail_height, *(plan.height - track.rail_height for plan in marked)])
    for plan in train.asked:
        low, what = min(_lowest(plan))
        gap = low - ground
        yield judge("under-clearance", plan.name, gap, LEAST_CLEARANCE, "min", "mm",
                    f"its {what} comes within {gap:.2f} mm of what lies between the rails: {_cure(what, gap)}")


def _lowest(plan):
    """Yield (height over rail top [mm], what) of everything that hangs under a wagon."""
    clip = plan.bogie.clip if plan.bogie else plan.gear.holder.clip
    yield plan.gear.axle_z - clip.depth, "axle clip"
    yield plan.frame.lowest, "coupler pivot"
    yield plan.coupling.lowest, "coupler screw"
    yield -flange(plan.wheelset), "flange"
    yield from ((one.bottom, "sensor holder") for one in plan.hung)


def _cure(what: str, gap: float) -> str:
    missing = up(LEAST_CLEARANCE - gap)
    if what == "sensor holder":
        return f"enlarge sensor_gap by {missing} mm"
    if what == "flange":
        return f"lay rails {missing} mm higher, or choose wheels with flanges lower by as much"
    return f"raise coupler.height or choose wheels {missing} mm larger in radius"
