"""The train sent over its track plan once, however many checks ask: paths, sweeps and coupled pairs."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from partgen.motion.guided import Vehicle
from partgen.motion.pair import Coupled, End, couple
from partgen.motion.passage import Passage, send
from partgen.motion.path import Path, arc, straight
from partgen.plan.outline import Outline, rounded_rectangle
from partgen.plan.train import TrainPlan

LEAD = 300.0            # mm of straight before and after the curves of the plan that is made when none is given


@lru_cache(maxsize=64)
def path_of(track) -> Path:
    """Return the track's plan as a path; without one: straight, sharpest curve left, then right, straight."""
    if not track.plan:
        bend = track.min_radius
        return Path((straight(LEAD), arc(bend, 90, "left"), arc(bend, 90, "right"), straight(LEAD)))
    laid = [piece for piece in track.plan for _ in range(piece.times)]
    return Path(tuple(straight(p.length) if p.go == "straight" else arc(p.radius, p.angle, p.go) for p in laid),
                track.closed)


@lru_cache(maxsize=64)
def beside(track) -> Path:
    """Return the second track's path at its spacing."""
    side = 1 if track.spacing_side == "left" else -1
    return path_of(track).offset(side * track.spacing)


@lru_cache(maxsize=256)
def _swept(track, on_second: bool, base: float, bogie: float, outlines, everywhere) -> Passage:
    path = beside(track) if on_second else path_of(track)
    return send(path, Vehicle(base, bogie), [outline.points for outline in outlines], everywhere=everywhere)


def swept(track, base: float, bogie: float, outlines, on_second: bool = False, everywhere: bool = False) -> Passage:
    """Return the sweep of outlines (a tuple) over the track, or over the second track; each is done once.

    With `everywhere` also where nothing changes from stand to stand, for what stands at one place.
    """
    return _swept(track, on_second, base, bogie, outlines, everywhere)


def reaching(outlines, bands) -> tuple[Outline, ...]:
    """Return the outlines that can reach farthest: one that lies within another at all its heights is left out."""
    kept: list[Outline] = []
    for one in sorted(outlines, key=lambda o: -np.ptp(o.array[:, 0])):
        if not any(_within(one, other) and _spans(other, one, bands) for other in kept):
            kept.append(one)
    return tuple(kept)


def _within(inner: Outline, outer: Outline) -> bool:
    """Does every corner of `inner` lie within the convex, counter-clockwise `outer`?"""
    start = outer.array
    along = np.roll(start, -1, axis=0) - start
    away = inner.array[:, None, :] - start[None, :, :]
    return bool((along[:, 0] * away[..., 1] - along[:, 1] * away[..., 0] >= -1e-6).all())


def _spans(other: Outline, one: Outline, bands) -> bool:
    """Is `other` in every (low, high) band that `one` is in?"""
    return all(other.low < high and other.high > low for low, high in bands if one.low < high and one.high > low)


@dataclass(frozen=True, slots=True)
class Runner:
    """Anything that runs: its name, guided points [mm], outlines, body, and coupler pivot and drawbar reach
    [mm] at each end, counted from its middle."""

    name: str
    base: float
    bogie: float
    outlines: tuple[Outline, ...]
    length: float
    width: float
    pivot: float
    reach: float


def runners(train: TrainPlan) -> tuple[Runner, ...]:
    """Return the locomotive and the wagons behind it, front to back."""
    return (_locomotive(train.description), *map(wagon_runner, train.wagons))


def wagon_runner(plan) -> Runner:
    """Return a wagon as a runner; its body is taken as wide and long as the lid, where it has one."""
    widest = plan.lid or plan.body
    return Runner(plan.name, plan.base, plan.bogie_wheelbase, plan.outlines, widest.length, widest.width,
                  plan.frame.seats[0].x, plan.coupling.front.reach)


def _locomotive(description) -> Runner:
    loco, gap = description.train.locomotive, description.coupler.gap
    outline = Outline("locomotive", loco.low, loco.high, rounded_rectangle(loco.length, loco.width, 2.0))
    return Runner("locomotive", loco.wheelbase, loco.bogie_wheelbase, (outline,), loco.length, loco.width,
                  loco.length / 2 - loco.coupler_inset, loco.coupler_inset + gap / 2)


def pairs(train: TrainPlan):
    """Yield (name of the pair, front runner, rear runner, Coupled) for all neighbours, locomotive first."""
    line = runners(train)
    for lead, trail in zip(line, line[1:]):
        ends = [End(Vehicle(one.base, one.bogie), one.pivot, one.length, one.width) for one in (lead, trail)]
        yield f"{lead.name} + {trail.name}", lead, trail, _coupled(train.description.track, *ends,
                                                                 lead.reach + trail.reach)


@lru_cache(maxsize=256)
def _coupled(track, lead: End, trail: End, reach: float) -> Coupled:
    return couple(path_of(track), lead, trail, reach)


def place(path: Path, station: float) -> str:
    """Say where on the plan a station is: millimetres from its start, and the piece counted from 1."""
    if path.closed:
        station %= path.length
    return f"at {station:.0f} mm, piece {int(path.piece_at(station)) + 1}"
