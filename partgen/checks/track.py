"""The train on its track: a plan that can be laid, and room beside it for all that passes."""

from collections.abc import Iterator, Sequence
from functools import lru_cache

import numpy as np

from partgen.describe.description import Description
from partgen.describe.track_tables import Obstacle, Track
from partgen.dynamics.at_grade import astray, crossed
from partgen.dynamics.clear_of import nearest_standing, standing_at, standing_room, tail_room
from partgen.dynamics.survey import Runner, beside, path_of, place, play_of, runners, swept
from partgen.finding import Finding, judge, up
from partgen.identity import LocomotiveId, ObstacleId, PassingId, TrackPlanId
from partgen.motion.crossing import crossing_angle, crossings, crowds, overlaps
from partgen.motion.path import Path
from partgen.plan.body.widest import OBSTACLE_GAP, PASSING_GAP
from partgen.plan.outline import Span
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

ANGLE_SLACK = 2.0       # deg that the joints between two passages of a crossing give (common practice, no source)
JOINT_SLACK = 1.5       # mm that one joint gives (common practice, no source)
MOST_PASSES = 2         # through one place: two cross, a third does not lie flat
BESIDE = 1.0            # mm kept between the rails of two stretches side by side (common practice, no source)
SIDES = {"inner-throw": "worst_inner", "outer-throw": "worst_outer"}
ANYWHERE = (-1e6, 1e6)  # mm: the band of everything
BIN = 5.0               # mm of track over which the reach of two trains is compared


def track_plan(train: TrainPlan) -> tuple[Finding, ...]:
    """Hold the closing error of a closed plan against what its joints give, look where the plan lies on itself, and
    hold stops off crossings.

    A crossing has two passes, both on one crossing piece; a third at the same place, or one stretch of track along
    another, cannot be laid.
    """
    return (*_laid(train.description.track), *_standing(train))


@lru_cache(maxsize=64)
def _laid(track: Track) -> tuple[Finding, ...]:
    if not track.plan:
        return ()
    path, broad = path_of(track), track.gauge + 2 * track.rail_head
    closing = [_closing(path)] if track.closed else []
    return (*closing, _crossings(path, broad), _stretches(path, broad + BESIDE), _astray(track), *_at_grade(track))


def _closing(path: Path) -> Finding:
    gap, turn = path.closing_error()
    return judge("track-plan", TrackPlanId("closing"), gap, JOINT_SLACK * len(path.pieces) ** 0.5, "max", "mm",
                 f"the plan ends {gap:.1f} mm from its start and turned by {turn:.1f} deg, more "
                 f"than {len(path.pieces)} pieces give at their joints")


def _crossings(path: Path, broad: float) -> Finding:
    """Count the passes at the busiest place; crossings nearer than the track is broad are one place."""
    met = crossings(path)
    passes = max((stations for stations, _ in crowds(path, met, broad)), key=len,
                 default=(met[0].first, met[0].second) if met else (0.0,))
    where = ", ".join(f"{abs(station):.0f}" for station in passes)
    return judge("track-plan", TrackPlanId("crossings"), len(passes), MOST_PASSES, "max", "passes",
                 f"the plan runs {len(passes)} times through one place, at {where} mm: two passes cross, more do not "
                 "lie flat")


def _stretches(path: Path, least: float) -> Finding:
    """Count the places where one stretch runs along another nearer than `least` [mm], a track's breadth."""
    along = overlaps(path, least)
    first = along[0] if along else None
    return judge("track-plan", TrackPlanId("side by side"), len(along), 0, "max", "places",
                 f"the track at {first.second:.0f} mm lies on that at {abs(first.first):.0f} mm: their centre "
                 f"lines come nearer than the {up(least)} mm that a track takes" if first else "")


# Crossings at grade

def _astray(track: Track) -> Finding:
    """Count the places where the centre line crosses itself and no crossing piece lies at both passages."""
    path, met = path_of(track), astray(track)
    where = (f"{len(met)} times, first at {met[0].first:.0f} and {met[0].second:.0f} mm, at "
             f"{crossing_angle(path, met[0].first, met[0].second):.1f} deg" if met else "")
    return judge("track-plan", TrackPlanId("at grade"), len(met), 0, "max", "places",
                 f"the plan crosses itself {where}, and no crossing lies there that is listed at both passages: put "
                 '{ go = "crossing", ... } into the plan at each, its middle there')


def _at_grade(track: Track) -> Iterator[Finding]:
    """Hold both passages over each crossing to be one piece: in one place, at its angle, with the same gaps."""
    path, found = path_of(track), {one.station: one for one in crossed(track)}
    for one in found.values():
        if one.other is None or one.other < one.station:
            continue
        two, who = found[one.other], TrackPlanId(f"crossing at {one.station:.0f} mm")
        middles = path.frame(np.array([one.station, one.other]))[0]
        off, pieces = float(abs(middles[1] - middles[0])), int(np.ptp(path.piece_at([one.station, one.other])))
        both = f"its two passages, at {one.station:.0f} and {one.other:.0f} mm"
        yield judge("track-plan", who, off, JOINT_SLACK * pieces**0.5, "max", "mm",
                    f"the middles of {both}, lie {off:.1f} mm apart, more than {pieces} pieces give at their joints: "
                    "change a straight between them")
        angle = crossing_angle(path, one.station, one.other)
        yield judge("track-plan", who, max(abs(angle - each.angle) for each in (one, two)), ANGLE_SLACK, "max", "deg",
                    f"{both}, meet at {angle:.1f} deg by the pieces between them: set angle to {angle:.1f} deg at "
                    "both, or change the curves")
        unlike = [name for name in ("gap", "floor", "angle") if getattr(one, name) != getattr(two, name)]
        yield judge("track-plan", who, len(unlike), 0, "max", "1",
                    f"{both}, are one piece and must be described alike: "
                    f"{' and '.join(unlike).replace('floor', 'flangeway')} differ")


def _standing(train: TrainPlan) -> Iterator[Finding]:
    """Hold the train at every stop off crossings: a wheel that stands in a gap starts with a jolt, and what stands on a
    crossing bars its other way."""
    for name, station in standing_at(train):
        room, better = standing_room(train, station), nearest_standing(train, station)
        cure = (f"set the stop's station to {better:.0f} mm" if better is not None else
                "no place on this plan takes the whole train: lay more track, or run fewer wagons")
        yield judge("track-plan", TrackPlanId(f"stop {name}"), room, 0.0, "min", "mm",
                    f"with its front at {station:.0f} mm the train stands on a crossing, or too near to it, by "
                    f"{up(-room)} mm: {cure}")


def _own_tail(train: TrainPlan) -> Iterator[Finding]:
    """Hold the track that is left between a train's end, clear of a crossing, and its head that runs on it again."""
    track = train.description.track
    twice = [one for one in crossed(track) if one.other is not None and (track.closed or one.other > one.station)]
    for one in twice:
        left = tail_room(train, one)
        yield judge("passing", TrackPlanId(f"crossing at {one.station:.0f} mm"), left, PASSING_GAP, "min", "mm",
                    f"as its head comes back to the crossing at {one.other:.0f} mm, its end is {up(-left)} mm short of "
                    f"being clear of it, and {PASSING_GAP:g} mm more must be free: lay as much more track between the "
                    "two passages, or run a shorter train")


# Throw over the whole plan: what each outline reaches sideways against the structure clearance

def inner_throw(train: TrainPlan) -> Iterator[Finding]:
    """Hold what every wagon reaches towards the inside of curves, anywhere on the plan, against the free room."""
    return (_worst("inner-throw", train.description, plan) for plan in train.asked)


def outer_throw(train: TrainPlan) -> Iterator[Finding]:
    """Hold what every wagon reaches towards the outside of curves, anywhere on the plan, against the free room."""
    return (_worst("outer-throw", train.description, plan) for plan in train.asked)


def room(track: Track) -> dict[Span, float]:
    """Return the half width free [mm] of every clearance band (low, high)."""
    return {(band.low, band.high): band.half_width for band in track.clearance}


def _worst(check: str, description: Description, plan: WagonPlan) -> Finding:
    """Return the finding of the height band with the smallest margin; where no band speaks, the nearest one does. What
    play adds is in the value, and the note tells how much that is."""
    track, play = description.track, play_of(plan, description)
    carried = track, plan.base, plan.gear.bogie_wheelbase, plan.outlines
    free = room(track)
    found = swept(*carried, tuple(free), play)
    if found == {}:
        free = {ANYWHERE: min(free.values(), default=track.gauge)}
        found = swept(*carried, tuple(free), play)
    if found is None:
        return judge(check, plan.who, track.min_radius, min(free.values()), "max", "mm",
                     f"on a curve of {track.min_radius:g} mm it reaches as far as the curve's middle, so long is its "
                     f"{plan.gear.base_name}")
    side = SIDES[check]
    shapes, envelope, half_width, band = min(((*there, free[band], band) for band, there in found.items()),
                                             key=lambda one: one[2] - getattr(one[1], side).value)
    reach, way = getattr(envelope, side), "inside" if check == "inner-throw" else "outside"
    still = swept(*carried, (band,))
    by_play = reach.value - getattr(still[band][1], side).value if still else 0.0
    return judge(check, plan.who, reach.value, half_width, "max", "mm",
                 f"the {shapes[reach.outline].part} reaches {reach.value:.1f} mm to the {way}, {by_play:.1f} mm of it "
                 f"by play, {place(path_of(track), reach.station)}: {up(reach.value - half_width)} mm more than is "
                 f"free there, from {band[0]:g} to {band[1]:g} mm of height", note=f"{by_play:.1f} mm of it by play")


# What stands or runs beside the track

def obstacle(train: TrainPlan) -> Iterator[Finding]:
    """Hold what the train reaches beside every obstacle, at its heights, against its distance."""
    track = train.description.track
    for thing in track.obstacle:
        found = [_past(track, thing, runner) for runner in runners(train)
                 if runner.who in (LocomotiveId(), *(plan.who for plan in train.asked))]
        # Of wagons as wide as each other the first is named, whatever the last digits say.
        yield min((one for one in found if one), key=lambda finding: round(finding.margin, 6),
                  default=judge("obstacle", ObstacleId(thing.name), 0.0, thing.distance, "max", "mm", ""))


def _past(track: Track, thing: Obstacle, runner: Runner) -> Finding | None:
    """Return the finding of one runner beside one obstacle; None where nothing of it passes at those heights."""
    band = (thing.low, thing.high)
    found = swept(track, runner.base, runner.bogie, runner.outlines, (band,), runner.play)
    path = path_of(track)
    if not found or thing.station > path.length:
        return None
    shapes, envelope = found[band]
    reach = envelope.worst(thing.side, thing.station, min(thing.station + thing.length, path.length))
    part = f"{shapes[reach.outline].part} of {runner.who}"
    return judge("obstacle", ObstacleId(thing.name, runner.who), reach.value + OBSTACLE_GAP, thing.distance, "max",
                 "mm", f"the {part} comes {reach.value:.1f} mm to the {thing.side} {place(path, reach.station)}, and "
                 f"{OBSTACLE_GAP:g} mm must stay free before {thing.name}")


def passing(train: TrainPlan) -> Iterator[Finding]:
    """Hold the gap to the same train on the second track against what two trains need, and that of the train to its own
    end on a crossing; nothing without either."""
    track = train.description.track
    yield from _own_tail(train)
    if track.spacing is None:
        return
    line = runners(train)
    ours = _profile(track, line, track.spacing_side, False)
    other = _profile(track, line, "right" if track.spacing_side == "left" else "left", True)
    gap = track.spacing - ours - other
    worst = int(np.argmin(gap))
    yield judge("passing", PassingId(), gap[worst], PASSING_GAP, "min", "mm",
                f"two trains come within {gap[worst]:.1f} mm {place(path_of(track), worst * BIN)}")


def _profile(track: Track, line: Sequence[Runner], side: str, on_second: bool) -> np.ndarray:
    """Return the train's farthest reach to `side` [mm] for each BIN of our own track.

    The second track's stations are counted piece by piece, since its curves are longer or shorter.
    """
    own, path = path_of(track), beside(track) if on_second else path_of(track)
    marks = np.arange(0.0, own.length, BIN)
    piece = own.piece_at(marks)
    share = (marks - own.bounds[piece]) / np.diff(own.bounds)[piece]
    stations = path.bounds[piece] + share * np.diff(path.bounds)[piece]
    found = [swept(track, one.base, one.bogie, one.outlines, (ANYWHERE,), one.play, on_second) for one in line]
    return np.max([one[ANYWHERE][1].at(side, stations) if one else np.full(len(marks), track.spacing)
                   for one in found], axis=0)
