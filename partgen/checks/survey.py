"""The train sent over its track plan once, however many checks ask: paths, sweeps and coupled pairs."""

from dataclasses import dataclass
from functools import lru_cache

from partgen.motion.envelope import envelopes
from partgen.motion.guided import Vehicle as Guided
from partgen.motion.pair import Coupled, End, couple
from partgen.motion.path import Path, arc, straight
from partgen.motion.vehicle import Vehicle
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


@lru_cache(maxsize=512)
def swept(track, base: float, bogie: float, outlines, bands, on_second: bool = False):
    """Return what outlines (a tuple) sweep on the track, or on the second one: (low, high) band to (outlines in
    it, their Envelope), bands without any left out; None where the track is too tight for them to be carried
    round it at all. Each is worked out once."""
    path = beside(track) if on_second else path_of(track)
    within = {band: tuple(one for one in outlines if one.low < band[1] and one.high > band[0]) for band in bands}
    within = {band: shapes for band, shapes in within.items() if shapes}
    if not within:
        return {}
    try:
        found = envelopes(path, Vehicle(base, bogie), {band: [s.array for s in shapes] for band, shapes in within.items()})
    except ValueError:
        return None
    return {band: (shapes, found[band]) for band, shapes in within.items()}


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
        ends = [End(Guided(one.base, one.bogie), one.pivot, one.length, one.width) for one in (lead, trail)]
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
