"""Throw over the whole plan: what each outline reaches sideways against the structure clearance."""

from partgen.dynamics.survey import path_of, place, swept
from partgen.finding import Finding, judge, up
from partgen.plan.train import TrainPlan

SIDES = {"inner-throw": "worst_inner", "outer-throw": "worst_outer"}
ANYWHERE = (-1e6, 1e6)  # mm: the band of everything


def inner_throw(train: TrainPlan):
    """Hold what every wagon reaches towards the inside of curves, anywhere on the plan, against the free room."""
    return (_worst("inner-throw", train, plan, plan.outlines) for plan in train.asked)


def outer_throw(train: TrainPlan):
    """Hold what every wagon reaches towards the outside of curves, anywhere on the plan, against the free room."""
    return (_worst("outer-throw", train, plan, plan.outlines) for plan in train.asked)


def room(track) -> dict[tuple[float, float], float]:
    """Return the half width free [mm] of every clearance band (low, high)."""
    return {(band.low, band.high): band.half_width for band in track.clearance}


def _worst(check: str, train: TrainPlan, plan, outlines) -> Finding:
    """Return the finding of the height band with the smallest margin; where no band speaks, the nearest one does."""
    track = train.description.track
    free = room(track)
    found = swept(track, plan.base, plan.gear.bogie_wheelbase, outlines, tuple(free))
    if found == {}:
        free = {ANYWHERE: min(free.values(), default=track.gauge)}
        found = swept(track, plan.base, plan.gear.bogie_wheelbase, outlines, tuple(free))
    if found is None:
        return judge(check, plan.who, track.min_radius, min(free.values()), "max", "mm",
                     f"on a curve of {track.min_radius:g} mm it reaches as far as the curve's middle: shorten the "
                     f"{plan.gear.base_name} below {track.min_radius:.0f} mm, or widen the curve")
    return min((_one(check, track, plan, shapes, getattr(envelope, SIDES[check]), free[band])
                for band, (shapes, envelope) in found.items()), key=lambda finding: finding.margin)


def _one(check, track, plan, shapes, reach, half_width) -> Finding:
    side = "inside" if check == "inner-throw" else "outside"
    cure = f"shorten the {plan.gear.base_name} or narrow the body" if side == "inside" else "shorten or narrow the body"
    excess = up(reach.value - half_width)
    return judge(check, plan.who, reach.value, half_width, "max", "mm",
                 f"the {shapes[reach.outline].part} reaches {reach.value:.1f} mm to the {side} "
                 f"{place(path_of(track), reach.station)}: {cure} by {excess} mm a side, or clear {excess} mm more "
                 "beside the track")
