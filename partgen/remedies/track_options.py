"""Moves of the track's plan that may clear a finding: straights that close it, crossings and stops where they fit."""

from collections.abc import Iterator
from itertools import combinations
from typing import Any

import numpy as np

from partgen.describe.faults import Steps
from partgen.describe.track_tables import FLATTEST_CROSSING
from partgen.dynamics.at_grade import crossed
from partgen.dynamics.clear_of import nearest_standing
from partgen.dynamics.survey import path_of
from partgen.finding import Finding
from partgen.identity import TrackPlanId
from partgen.motion.crossing import crossing_angle
from partgen.plan.train import TrainPlan

Move = tuple[tuple[Steps, Any], ...]
"""The edits of one move: places and values."""

STRAIGHT_ON = 0.5       # deg by which a plan that closes may turn too far
CLOSED = 0.1            # mm that straights may leave open


def closing(finding: Finding, train: TrainPlan) -> Iterator[Move]:
    """Change the length of a straight, or of two, one athwart the other, so that the plan closes.

    The gap, as a sum of their directions, says by how much each must grow.
    """
    track, path = train.description.track, path_of(train.description.track)
    if not track.closed or abs(path.closing_error()[1]) > STRAIGHT_ON:
        return
    points, ahead = path.frame(path.bounds)
    gap = points[0] - points[-1]
    owner = np.repeat(np.arange(len(track.plan)), [piece.times for piece in track.plan])
    ways = {place: complex(ahead[:-1][owner == place].sum()) for place, piece in enumerate(track.plan)
            if piece.go == "straight"}
    for chosen in (*combinations(ways, 1), *combinations(ways, 2)):
        each = np.array([[ways[place].real, ways[place].imag] for place in chosen]).T
        more, *_ = np.linalg.lstsq(each, [gap.real, gap.imag])
        lengths = [round((track.plan[place].length or 0.0) + float(by), 1)
                   for place, by in zip(chosen, more, strict=True)]
        if np.hypot(*(each @ more - [gap.real, gap.imag])) < CLOSED and min(lengths) >= 1:
            yield tuple((("track", "plan", place, "length"), length)
                        for place, length in zip(chosen, lengths, strict=True))


def as_it_crosses(finding: Finding, train: TrainPlan) -> Iterator[Move]:
    """Give both passages over a crossing the angle at which the plan runs over it."""
    track, path = train.description.track, path_of(train.description.track)
    owner = np.repeat(np.arange(len(track.plan)), [piece.times for piece in track.plan])
    for one in crossed(track):
        if one.other is not None and finding.subject == TrackPlanId(f"crossing at {one.station:.0f} mm"):
            angle = max(round(crossing_angle(path, one.station, one.other), 1), FLATTEST_CROSSING)
            places = dict.fromkeys(int(owner[path.piece_at(at)]) for at in (one.station, one.other))
            yield tuple((("track", "plan", place, "angle"), angle) for place in places)


def off_the_crossing(finding: Finding, train: TrainPlan) -> Iterator[Move]:
    """Set a stop where the whole train stands off every crossing."""
    for place, stop in enumerate(train.description.track.stop):
        if finding.subject == TrackPlanId(f"stop {stop.name}"):
            better = nearest_standing(train, stop.station)
            if better is not None:
                yield ((("track", "stop", place, "station"), better),)
