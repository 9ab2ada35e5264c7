"""Is the plan of the track one that can be laid: does it close, and does it lie on itself nowhere."""

import numpy as np

from partgen.checks.survey import path_of
from partgen.finding import judge
from partgen.plan.train import TrainPlan

CHORD = 8.0             # mm of track between two looked-at points
JOINT_SLACK = 1.5       # mm that one joint gives (common practice, no source)
SAME_PLACE = 6.0        # mm within which crossings are one place
APART = 40.0            # mm of track between two different passes


def track_plan(train: TrainPlan):
    """Hold the closing error of a closed plan against what its joints give, and count the passes at one place.

    A crossing has two passes; a third at the same place, or track on track, cannot be laid flat.
    """
    track = train.description.track
    if not track.plan:
        return
    path = path_of(track)
    if track.closed:
        gap, turn = path.closing_error()
        limit = JOINT_SLACK * len(path.pieces) ** 0.5
        yield judge("track-plan", "closing", gap, limit, "max", "mm",
                    f"the plan ends {gap:.1f} mm from its start and turned by {turn:.1f} deg: add or take a straight of "
                    f"about {gap:.0f} mm, or measure the curves again")
    passes, station = _most_passes(path)
    yield judge("track-plan", "crossings", passes, 2, "max", "passes",
                f"the plan runs {passes} times through the same place at {station:.0f} mm: two passes cross, more do not "
                "lie flat; move a piece by 50 mm")


def _most_passes(path) -> tuple[int, float]:
    """Return how many passes meet at the busiest place of the plan, and a station [mm] there."""
    from shapely import STRtree, intersection, linestrings
    s = np.linspace(0.0, path.length, max(int(path.length / CHORD), 2))
    points = path.point(s)
    pieces = linestrings(np.stack([points[:-1], points[1:]], axis=1))
    one, other = STRtree(pieces).query(pieces, predicate="intersects")
    around = np.abs(s[other] - s[one])
    if path.closed:
        around = np.minimum(around, path.length - around)
    far = (around > APART) & (one < other)
    if not far.any():
        return 1, 0.0
    one, other = one[far], other[far]
    met = intersection(pieces[one], pieces[other])
    place = np.array([(m.centroid.x, m.centroid.y) for m in met])
    best = (2, float(s[one[0]]))
    for here in place[:500]:
        near = np.hypot(*(place - here).T) < SAME_PLACE
        stations = np.sort(np.concatenate([s[one[near]], s[other[near]]]))
        count = 1 + int((np.diff(stations) > APART).sum())
        best = max(best, (count, float(stations[0])))
    # Track on track meets all along: many places one after the other, where a crossing has but one.
    runs = np.sort(s[one])
    along = np.diff(runs)
    stretch = along[along < 2 * CHORD].sum()
    return max(best, (3, float(runs[0]))) if stretch > 3 * APART else best
