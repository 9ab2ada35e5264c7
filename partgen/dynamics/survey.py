"""The train on its track: the plan laid out as a path, and the train sent over it once, however many checks ask."""

from collections.abc import Iterator
from functools import cached_property, lru_cache
from itertools import pairwise

from msgspec import Struct

from partgen.describe.description import Description
from partgen.describe.track_tables import PlanPiece, Track
from partgen.identity import CouplingId, LocomotiveId, WagonId
from partgen.motion.coupled import Coupled, Link, couple
from partgen.motion.envelope import Envelope, envelopes
from partgen.motion.path import Path, TrackPiece, arc, straight
from partgen.motion.play import PLACES, shifted
from partgen.motion.vehicle import Vehicle
from partgen.plan.outline import Outline, Points, Span, around
from partgen.plan.running_gear.gear import between_rails, side_play
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

LEAD = 300.0            # mm of straight before and after the curves of the plan that is made when none is given
TOLERANCE = 0.1         # mm that the drawn envelope may cut a curve; its worst places are exact in any case


@lru_cache(maxsize=64)
def path_of(track: Track) -> Path:
    """Return the track's plan as a path; without one: straight, sharpest curve left, then right, straight."""
    if not track.plan:
        bend = track.min_radius
        return Path((straight(LEAD), arc(bend, 90, "left"), arc(bend, 90, "right"), straight(LEAD)))
    return Path(tuple(_laid(piece) for piece in track.plan for _ in range(piece.times)), track.closed)


def _laid(piece: PlanPiece) -> TrackPiece:
    """Return a piece of the plan; a curve has a radius and an angle, a straight a length."""
    if piece.length is not None:
        return straight(piece.length)
    assert piece.radius is not None and piece.angle is not None, "the description sees to it"
    return arc(piece.radius, piece.angle, piece.go)


@lru_cache(maxsize=64)
def beside(track: Track) -> Path:
    """Return the second track's path at its spacing."""
    return path_of(track).offset((track.spacing or 0.0) * (1 if track.spacing_side == "left" else -1))


@lru_cache(maxsize=512)
def swept(track: Track, base: float, bogie: float, outlines: tuple[Outline, ...], bands: tuple[Span, ...],
          play: float = 0.0, on_second: bool = False) -> dict[Span, tuple[tuple[Outline, ...], Envelope]] | None:
    """Return what outlines sweep on the track, or on the second one: (low, high) band to (outlines in it, their
    Envelope), bands without any left out; None where the track is too tight for them to be carried round it at all.
    With `play` [mm] of each guided point every outline stands there once for each place that this lets it take. Each is
    worked out once."""
    path = beside(track) if on_second else path_of(track)
    places = tuple(one for one in outlines for _ in range(PLACES if play else 1))
    points = tuple(place for one in outlines for place in (shifted(one.points, base, play) if play else [one.points]))
    within = {(low, high): found for low, high in bands
              if (found := [k for k, one in enumerate(places) if one.low < high and one.high > low])}
    if not within:
        return {}
    try:
        made = envelopes(path, Vehicle(base, bogie), {
            band: [points[k] for k in found] for band, found in within.items()}, TOLERANCE)
    except ValueError:
        return None
    return {band: (tuple(places[k] for k in found), made[band]) for band, found in within.items()}


class Runner(Struct, frozen=True):
    """Anything that runs: who it is, guided points [mm], their play to either side [mm], outlines, body, and coupler
    pivot and drawbar reach [mm] at each end, counted from its middle. `corner` is the radius [mm] that its body is
    drawn with; the locomotive's, which nobody measures, is taken as sharp."""

    who: LocomotiveId | WagonId
    base: float
    bogie: float
    play: float
    outlines: tuple[Outline, ...]
    length: float
    width: float
    corner: float
    pivot: float
    reach: float
    arm: float = 0.0        # coupler pivot beyond the bogie's that it turns on; 0: it turns on the body


def runners(train: TrainPlan) -> tuple[Runner, ...]:
    """Return the locomotive and the wagons behind it, front to back."""
    return (_locomotive(train), *(_wagon(plan, train.description) for plan in train.wagons))


def play_of(plan: WagonPlan, description: Description) -> float:
    """Return how far [mm] each guided point of a wagon can go to either side."""
    return side_play(plan.gear, plan.wheelset, description.track)


def _wagon(plan: WagonPlan, description: Description) -> Runner:
    """Return a wagon as a runner; its body is taken as wide and long as the lid, where it has one."""
    widest = plan.lid or plan.body
    return Runner(plan.who, plan.base, plan.gear.bogie_wheelbase, play_of(plan, description), plan.outlines,
                  widest.length, widest.width, widest.corner, plan.frame.seats[0].x, plan.coupling.front.reach,
                  plan.gear.arm.seat.x if plan.gear.arm else 0.0)


def _locomotive(train: TrainPlan) -> Runner:
    """Return the locomotive as a runner; nobody measures its wheels, so they play as the wagons' do that play most."""
    loco, gap, inset = train.description.train.locomotive, train.description.coupler.gap, train.hook[1]
    free = max(between_rails(plan.wheelset, train.description.track) for plan in train.wagons)
    outline = Outline("locomotive", loco.low, loco.high, around(loco.length, loco.width, 0.0))
    return Runner(LocomotiveId(), loco.wheelbase, loco.bogie_wheelbase, free, (outline,), loco.length, loco.width, 0.0,
                  loco.length / 2 - inset, inset + gap / 2)


class Neighbours(Struct, frozen=True, dict=True):
    """Two coupled runners, front and rear, on a track."""

    front: Runner
    rear: Runner
    track: Track

    @property
    def link(self) -> Link:
        """How they are linked. Raises ValueError where a body is too short for couplers."""
        front, rear = self.front, self.rear
        return Link(Vehicle(front.base, front.bogie), Vehicle(rear.base, rear.bogie), front.pivot, rear.pivot,
                    front.reach, rear.reach, front.arm, rear.arm)

    @cached_property
    def coupled(self) -> Coupled | None:
        """All they do over the plan; None where the track is too tight for the pair to be pulled round it, or a body
        too short for couplers: the plan refuses such a wagon."""
        if min(self.front.pivot, self.rear.pivot) <= 0:
            return None
        return _coupled(self.track, self.link, body_of(self.front), body_of(self.rear))

    @property
    def who(self) -> CouplingId:
        """Both, as the subject of a finding."""
        return CouplingId(self.front.who, self.rear.who)


def pairs(train: TrainPlan) -> Iterator[Neighbours]:
    """Yield all Neighbours, the locomotive with the first wagon first."""
    for front, rear in pairwise(runners(train)):
        yield Neighbours(front, rear, train.description.track)


def body_of(runner: Runner) -> Points:
    """Return the corners of a runner's body from above [mm]: nothing of it stands out of them."""
    return around(runner.length, runner.width, runner.corner)


@lru_cache(maxsize=512)
def _coupled(track: Track, link: Link, front: Points, rear: Points) -> Coupled | None:
    try:
        return couple(path_of(track), link, (front, rear), TOLERANCE)
    except ValueError:
        return None


def place(path: Path, station: float) -> str:
    """Say where on the plan a station is: millimetres from its start, and the piece counted from 1."""
    if path.closed:
        station %= path.length
    return f"at {station:.0f} mm, piece {int(path.piece_at(station)) + 1}"
