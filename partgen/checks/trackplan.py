"""Is the plan of the track one that can be laid: does it close, and does it lie on itself nowhere."""

from functools import lru_cache

from partgen.checks.survey import path_of
from partgen.finding import Finding, judge, up
from partgen.motion.crossing import crossings, crowds, overlaps
from partgen.plan.train import TrainPlan

JOINT_SLACK = 1.5       # mm that one joint gives (common practice, no source)
MOST_PASSES = 2         # through one place: two cross, a third does not lie flat
BESIDE = 1.0            # mm kept between the rails of two stretches side by side (common practice, no source)


def track_plan(train: TrainPlan):
    """Hold the closing error of a closed plan against what its joints give, and look where the plan lies on itself.

    A crossing has two passes; a third at the same place, or one stretch of track along another, cannot be laid.
    """
    return _judged(train.description.track)


@lru_cache(maxsize=64)
def _judged(track) -> tuple[Finding, ...]:
    return tuple(_findings(track))


def _findings(track):
    if not track.plan:
        return
    path = path_of(track)
    if track.closed:
        yield _closing(path)
    broad = track.gauge + 2 * track.rail_head
    yield _crossings(path, broad)
    yield _stretches(path, broad + BESIDE)


def _closing(path):
    gap, turn = path.closing_error()
    return judge("track-plan", "closing", gap, JOINT_SLACK * len(path.pieces) ** 0.5, "max", "mm",
                 f"the plan ends {gap:.1f} mm from its start and turned by {turn:.1f} deg: add or take a straight of "
                 f"about {gap:.0f} mm, or measure the curves again")


def _crossings(path, broad):
    """Count the passes at the busiest place; crossings nearer than the track is broad are one place."""
    met = crossings(path)
    passes = max((stations for stations, _ in crowds(path, met, broad)), key=len,
                 default=(met[0].first, met[0].second) if met else (0.0,))
    where = ", ".join(f"{abs(station):.0f}" for station in passes)
    return judge("track-plan", "crossings", len(passes), MOST_PASSES, "max", "passes",
                 f"the plan runs {len(passes)} times through one place, at {where} mm: two passes cross, more do not lie "
                 f"flat; move one of them by {broad:.0f} mm")


def _stretches(path, least):
    """Count the places where one stretch runs along another nearer than `least` [mm], a track's breadth."""
    along = overlaps(path, least)
    first = along[0] if along else None
    return judge("track-plan", "side by side", len(along), 0, "max", "places",
                 f"the track at {first.second:.0f} mm lies on that at {abs(first.first):.0f} mm: lay them {up(least)} mm apart, "
                 "centre line to centre line" if first else "")
