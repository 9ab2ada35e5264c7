"""What stands beside the track at one place, and the train on the next track."""

import numpy as np

from partgen.checks.survey import LOCOMOTIVE, beside, path_of, place, runners, swept
from partgen.checks.throw import ANYWHERE
from partgen.finding import Finding, judge, up
from partgen.plan.train import TrainPlan

OBSTACLE_GAP = 1.0      # mm kept free: a wagon rocks on its play (common practice, no source)
PASSING_GAP = 3.0       # mm between two trains (common practice, no source)
BIN = 5.0               # mm of track over which the reach of two trains is compared


def obstacle(train: TrainPlan):
    """Hold what the train reaches beside every obstacle, at its heights, against its distance."""
    track = train.description.track
    for thing in track.obstacle:
        found = [_past(track, thing, runner) for runner in runners(train)
                 if runner.name in (LOCOMOTIVE, *(plan.name for plan in train.asked))]
        yield min((one for one in found if one), key=lambda finding: finding.margin,
                  default=judge("obstacle", thing.name, 0.0, thing.distance, "max", "mm", ""))


def _past(track, thing, runner) -> Finding | None:
    """Return the finding of one runner beside one obstacle; None where nothing of it passes at those heights."""
    band = (thing.low, thing.high)
    found = swept(track, runner.base, runner.bogie, runner.outlines, (band,))
    path = path_of(track)
    if not found or thing.station > path.length:
        return None
    shapes, envelope = found[band]
    reach = envelope.worst(thing.side, thing.station, min(thing.station + thing.length, path.length))
    need = up(reach.value + OBSTACLE_GAP - thing.distance)
    return judge("obstacle", f"{thing.name} + {runner.name}", reach.value + OBSTACLE_GAP, thing.distance, "max", "mm",
                 f"the {shapes[reach.outline].part} of {runner.name} comes {reach.value:.1f} mm to the {thing.side} "
                 f"{place(path, reach.station)}: move {thing.name} {need} mm away, or narrow the wagon")


def passing(train: TrainPlan):
    """Hold the gap to the same train on the second track against what two trains need; nothing without one."""
    track = train.description.track
    if track.spacing is None:
        return
    line = runners(train)
    ours = _profile(track, line, track.spacing_side, False)
    other = _profile(track, line, "right" if track.spacing_side == "left" else "left", True)
    gap = track.spacing - ours - other
    worst = int(np.argmin(gap))
    need = up(PASSING_GAP - gap[worst])
    yield judge("passing", "two trains", gap[worst], PASSING_GAP, "min", "mm",
                f"two trains come within {gap[worst]:.1f} mm {place(path_of(track), worst * BIN)}: lay the tracks "
                f"{need} mm further apart, or narrow the wagons")


def _profile(track, line, side, on_second) -> np.ndarray:
    """Return the train's farthest reach to `side` [mm] for each BIN of our own track.

    The second track's stations are counted piece by piece, since its curves are longer or shorter.
    """
    own, path = path_of(track), beside(track) if on_second else path_of(track)
    marks = np.arange(0.0, own.length, BIN)
    piece = own.piece_at(marks)
    share = (marks - own.bounds[piece]) / np.diff(own.bounds)[piece]
    stations = path.bounds[piece] + share * np.diff(path.bounds)[piece]
    found = [swept(track, one.base, one.bogie, one.outlines, (ANYWHERE,), on_second) for one in line]
    return np.max([one[ANYWHERE][1].at(side, stations) if one else np.full(len(marks), track.spacing)
                   for one in found], axis=0)
