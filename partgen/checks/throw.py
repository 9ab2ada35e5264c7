"""Throw on the sharpest curve: what each outline reaches sideways against the structure clearance."""

from partgen.finding import Finding, judge
from partgen.formulas.curve import outline_throw
from partgen.plan.outline import Outline
from partgen.plan.train import TrainPlan

SIDES = {"inner-throw": 0, "outer-throw": 1}


def inner_throw(train: TrainPlan):
    """Hold what every wagon reaches towards the inside of the sharpest curve against the free room."""
    return (_worst("inner-throw", train, plan, plan.outlines) for plan in train.wagons)


def outer_throw(train: TrainPlan):
    """Hold what every wagon reaches towards the outside of the sharpest curve against the free room."""
    return (_worst("outer-throw", train, plan, plan.outlines) for plan in train.wagons)


def of_outlines(train: TrainPlan, outlines: dict[str, tuple[Outline, ...]]):
    """Yield both throws of every wagon for `outlines` by wagon name, as cut from the real meshes."""
    for check in SIDES:
        for plan in train.wagons:
            yield _worst(check, train, plan, outlines[plan.name])


def _worst(check: str, train: TrainPlan, plan, outlines) -> Finding:
    """Return the finding of the outline and height band with the smallest margin."""
    track = train.description.track
    reach = [(outline, outline_throw(outline.array, track.min_radius, plan.wheelbase)[SIDES[check]])
             for outline in outlines]
    found = [_one(check, plan, outline, value, band) for outline, value in reach for band in track.clearance
             if outline.low < band.high and outline.high > band.low]
    if not found:
        return judge(check, plan.name, max(value for _, value in reach), _beyond(track), "max", "mm",
                     "describe the clearance at this wagon's heights")
    return min(found, key=lambda finding: finding.margin)


def _beyond(track) -> float:
    """Room where no band speaks: the nearest that any band leaves, to stay on the safe side [mm]."""
    return min(band.half_width for band in track.clearance)


def _one(check, plan, outline, value, band) -> Finding:
    side = "inside" if check == "inner-throw" else "outside"
    cure = "shorten wheelbase or narrow the body" if side == "inside" else "shorten or narrow the body"
    excess = value - band.half_width
    return judge(check, plan.name, value, band.half_width, "max", "mm",
                 f"the {outline.part} reaches {value:.1f} mm to the {side} between {band.low:g} and {band.high:g} mm "
                 f"over the rail: {cure} by {excess:.1f} mm a side, or clear {excess:.1f} mm more beside the track")
