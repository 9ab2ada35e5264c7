"""Throw over the whole plan: what each outline reaches sideways against the structure clearance."""

from partgen.checks.survey import path_of, place, reaching, swept
from partgen.finding import Finding, judge, up
from partgen.plan.outline import Outline
from partgen.plan.train import TrainPlan

SIDES = {"inner-throw": "inner", "outer-throw": "outer"}


def inner_throw(train: TrainPlan):
    """Hold what every wagon reaches towards the inside of curves, anywhere on the plan, against the free room."""
    return (_worst("inner-throw", train, plan, plan.outlines) for plan in train.wagons)


def outer_throw(train: TrainPlan):
    """Hold what every wagon reaches towards the outside of curves, anywhere on the plan, against the free room."""
    return (_worst("outer-throw", train, plan, plan.outlines) for plan in train.wagons)


def of_outlines(train: TrainPlan, outlines: dict[str, tuple[Outline, ...]]):
    """Yield both throws of every wagon for `outlines` by wagon name, as cut from the real meshes."""
    for check in SIDES:
        for plan in train.wagons:
            yield _worst(check, train, plan, outlines[plan.name])


def _worst(check: str, train: TrainPlan, plan, outlines) -> Finding:
    """Return the finding of the height band with the smallest margin; where no band speaks, the nearest one does."""
    track = train.description.track
    bands = [(band.low, band.high) for band in track.clearance]
    shapes = reaching(outlines, bands)
    sweep = swept(track, plan.base, plan.bogie_wheelbase, shapes)
    found = []
    for band in track.clearance:
        there = [k for k, shape in enumerate(shapes) if shape.low < band.high and shape.high > band.low]
        if there:
            found.append(_one(check, track, plan, shapes, sweep.worst(SIDES[check], there), band.half_width))
    if not found:
        least = min(band.half_width for band in track.clearance)
        found.append(_one(check, track, plan, shapes, sweep.worst(SIDES[check]), least))
    return min(found, key=lambda finding: finding.margin)


def _one(check, track, plan, shapes, reach, half_width) -> Finding:
    side = "inside" if check == "inner-throw" else "outside"
    cure = f"shorten the {plan.base_name} or narrow the body" if side == "inside" else "shorten or narrow the body"
    excess = up(reach.value - half_width)
    return judge(check, plan.name, reach.value, half_width, "max", "mm",
                 f"the {shapes[reach.outline].part} reaches {reach.value:.1f} mm to the {side} "
                 f"{place(path_of(track), reach.station)}: {cure} by {excess} mm a side, or clear {excess} mm more "
                 "beside the track")
