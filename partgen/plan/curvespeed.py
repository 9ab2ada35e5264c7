"""The highest speed for each curve of the plan: what tips a wagon, what spills a cup."""

from dataclasses import dataclass
from math import inf, radians

import numpy as np

from partgen.formulas.balance import joint_tilt, worst_tip
from partgen.formulas.constants import GRAVITY
from partgen.formulas.ride import curve_speed
from partgen.plan.liquid import Liquid
from partgen.plan.mass import loads
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

HALVINGS = 40


@dataclass(frozen=True, slots=True)
class CurveSpeed:
    """A curve radius of the plan [mm], the speeds [mm/s] at which a wagon is held upright just surely enough and
    a cup stays just dry, whose wagon and cup that are ("" where nothing limits), and the speed to run."""

    radius: float
    tip: float
    tips: str
    spill: float
    spills: str
    speed: float

    @property
    def binds(self) -> str:
        """What sets the speed: "tip", "spill" or "" where it is the running speed."""
        if self.speed < min(self.tip, self.spill) - 1.0:
            return ""
        return "tip" if self.tip <= self.spill else "spill"


def tip_acceleration(plan: WagonPlan, train: TrainPlan) -> float:
    """Return the level acceleration [mm/s2] at which a wagon is held against tipping sideways just
    `ride.tip_safety` times over, in its worst load state, the floor leaning and one wheel up on a joint's step.

    0 where it is not even so at rest.
    """
    ride, track = train.description.ride, train.description.track
    spacing = track.gauge + track.rail_head
    tilt = radians(ride.floor_tilt) + float(joint_tilt(ride.joint_step, spacing))
    parts = loads(plan, train.description.printer.material)
    fixed = [(load.mass, load.y, load.z) for load in parts if load.kind not in ("cup", "liquid")]
    full = [_together(cup, liquid) for cup, liquid in zip([load for load in parts if load.kind == "cup"],
                                                          [load for load in parts if load.kind == "liquid"])]
    return min(_held(np.array(fixed) * (1, side, 1), np.reshape(full, (-1, 3)) * (1, side, 1), spacing / 2, tilt,
                     ride.tip_safety) for side in (1, -1))


def _together(cup, liquid) -> tuple[float, float, float]:
    mass = cup.mass + liquid.mass
    return mass, (cup.mass * cup.y + liquid.mass * liquid.y) / mass, (cup.mass * cup.z + liquid.mass * liquid.z) / mass


def _held(fixed, full, reach, tilt, safety) -> float:
    """Halve the interval of accelerations in which the margin against tipping falls below `safety`."""
    low, high = 0.0, GRAVITY
    if worst_tip(fixed, full, reach, low, tilt)[0] < safety:
        return 0.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if worst_tip(fixed, full, reach, middle, tilt)[0] >= safety else (low, middle)
    return low


def bends_of(path) -> list[tuple[float, float]]:
    """Return (length [mm], curvature [1/mm]) of the path's straights and curves, neighbours alike taken together."""
    bends: list[tuple[float, float]] = []
    for piece in path.pieces:
        if bends and abs(bends[-1][1] - piece.curvature) < 1e-12:
            bends[-1] = bends[-1][0] + piece.length, piece.curvature
        else:
            bends.append((piece.length, piece.curvature))
    if path.closed and len(bends) > 1 and abs(bends[0][1] - bends[-1][1]) < 1e-12:
        bends[0] = bends[0][0] + bends.pop()[0], bends[0][1]
    return bends


def swing_curvatures(path) -> dict[float, float]:
    """Return, for each curve radius of the path [mm], the curvature [1/mm] whose steady rise is the highest that
    entering, running and leaving such a curve can raise, however the swings of the two joints meet.

    A step of acceleration lets an undamped liquid swing by as much to either side of its new level.
    """
    bends = [curvature for _, curvature in bends_of(path)]
    before = [bends[-1] if path.closed else 0.0, *bends[:-1]]
    after = [*bends[1:], bends[0] if path.closed else 0.0]
    worst: dict[float, float] = {}
    for prior, here, next_ in zip(before, bends, after):
        if here:
            swing = abs(here - prior)
            highest = max(abs(here) + swing, abs(next_) + swing + abs(next_ - here))
            radius = round(1 / abs(here), 6)
            worst[radius] = max(worst.get(radius, 0.0), highest)
    return dict(sorted(worst.items()))


def curve_speeds(path, train: TrainPlan, liquids: tuple[Liquid, ...]) -> tuple[CurveSpeed, ...]:
    """Return the speed for each curve radius of the path, sharpest first; at most the wished running speed.

    A cup that spills at a standstill has no say: it must hold less, whatever the speed.
    """
    ride = train.description.ride
    liquids = [one for one in liquids if not one.spills_at_rest(radians(ride.floor_tilt), ride.reserve)]
    tip, tips = min(((tip_acceleration(plan, train), plan.name) for plan in train.wagons), default=(inf, ""))
    found = []
    for radius, curvature in swing_curvatures(path).items():
        spill, spills = min(((spill_speed(liquid, curvature, radians(ride.floor_tilt), ride.reserve), liquid.name)
                             for liquid in liquids), default=(inf, ""))
        upright = float(curve_speed(radius, tip))
        found.append(CurveSpeed(radius, upright, tips, spill, spills, min(ride.speed, upright, spill)))
    return tuple(found)


def spill_speed(liquid: Liquid, curvature: float, tilt: float, reserve: float) -> float:
    """Return the speed [mm/s] at which a liquid reaches its `reserve` [mm] of dry wall where the swings of a curve
    add up to the steady rise of `curvature` [1/mm], on a floor leaning by `tilt` [rad]."""
    room = max(liquid.room(tilt, reserve), 0.0)
    return float(curve_speed(1 / curvature, liquid.level_acceleration(room)))
