"""The train sent over its track plan once, however many checks ask: paths, sweeps and coupled pairs."""

from functools import lru_cache

import numpy as np
from msgspec import Struct

from partgen.identity import CouplingId, LocomotiveId, WagonId
from partgen.motion.coupled import Coupled, Link, couple
from partgen.motion.envelope import envelopes
from partgen.motion.path import Path
from partgen.motion.vehicle import Vehicle
from partgen.plan.outline import Outline, rounded_rectangle
from partgen.plan.track import path_of
from partgen.plan.train import TrainPlan

TOLERANCE = 0.1         # mm that the drawn envelope may cut a curve; its worst places are exact in any case
BODY = "body"
BODY_CORNER = 4.0       # mm


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
        found = envelopes(path, Vehicle(base, bogie), {band: [s.array for s in shapes] for band, shapes in within.items()},
                          TOLERANCE)
    except ValueError:
        return None
    return {band: (shapes, found[band]) for band, shapes in within.items()}


class Runner(Struct, frozen=True):
    """Anything that runs: who it is, guided points [mm], outlines, body, and coupler pivot and drawbar reach
    [mm] at each end, counted from its middle."""

    who: LocomotiveId | WagonId
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
    return Runner(plan.who, plan.base, plan.bogie_wheelbase, plan.outlines, widest.length, widest.width,
                  plan.frame.seats[0].x, plan.coupling.front.reach)


def _locomotive(description) -> Runner:
    loco, gap = description.train.locomotive, description.coupler.gap
    outline = Outline("locomotive", loco.low, loco.high, rounded_rectangle(loco.length, loco.width, 2.0))
    return Runner(LocomotiveId(), loco.wheelbase, loco.bogie_wheelbase, (outline,), loco.length, loco.width,
                  loco.length / 2 - loco.coupler_inset, loco.coupler_inset + gap / 2)


class Neighbours(Struct, frozen=True):
    """Two coupled runners, front and rear, how they are linked, and all they do over the plan; `coupled` is None
    where the track is too tight for the pair to be pulled round it."""

    front: Runner
    rear: Runner
    link: Link
    coupled: Coupled | None

    @property
    def who(self) -> CouplingId:
        """Both, as the subject of a finding."""
        return CouplingId(self.front.who, self.rear.who)


def pairs(train: TrainPlan):
    """Yield all Neighbours, the locomotive with the first wagon first."""
    line = runners(train)
    for front, rear in zip(line, line[1:]):
        link = Link(Vehicle(front.base, front.bogie), Vehicle(rear.base, rear.bogie), front.pivot, rear.pivot,
                    front.reach, rear.reach)
        yield Neighbours(front, rear, link, _coupled(train.description.track, link, *map(body_of, (front, rear))))


def body_of(runner: Runner) -> tuple[tuple[float, float], ...]:
    """Return the corners of a runner's body from above [mm]."""
    return rounded_rectangle(runner.length, runner.width, BODY_CORNER, steps=2)


@lru_cache(maxsize=512)
def _coupled(track, link: Link, front, rear) -> Coupled | None:
    try:
        return couple(path_of(track), link, {BODY: ([np.array(front)], [np.array(rear)])}, TOLERANCE)
    except ValueError:
        return None


def place(path: Path, station: float) -> str:
    """Say where on the plan a station is: millimetres from its start, and the piece counted from 1."""
    if path.closed:
        station %= path.length
    return f"at {station:.0f} mm, piece {int(path.piece_at(station)) + 1}"
