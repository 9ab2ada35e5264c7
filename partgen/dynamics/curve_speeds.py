"""The highest speed for each curve of the plan: what tips a wagon, what spills a cup."""

from math import inf, radians

import numpy as np
from msgspec import Struct

from partgen.dynamics.liquids import Liquid
from partgen.dynamics.load_states import lading
from partgen.dynamics.pull import masses
from partgen.dynamics.ramps import rates
from partgen.dynamics.stability import Edge, Stand
from partgen.formulas.balance import joint_tilt, string_line_force
from partgen.formulas.traction import coupling_pulls, curve_speed, inertia_force, rolling_resistance
from partgen.plan.train import TrainPlan

HALVINGS = 24
FASTEST = 10_000.0      # mm/s; no toy train is asked for more


class CurveSpeed(Struct, frozen=True):
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


def tip_speed(train: TrainPlan, radius: float, swing: float, pushes) -> tuple[float, str]:
    """Return the speed [mm/s] at which some wagon is held against tipping outwards just `ride.tip_safety` times over
    on a curve of `radius` [mm], and that wagon's name.

    The worst load state counts, with the floor leaning, one wheel up on a joint's step, the liquids `swing` times as
    high as under a steady acceleration [1], and the wagons behind pushing on as the train brakes, `pushes` [N] on
    each. 0 where the wagon is not held so at rest.
    """
    ride, best, name = train.description.ride, FASTEST, ""
    for plan, push in zip(train.wagons, pushes):
        stand_at = _stand(train, plan, radius, swing, float(push))
        low, high = 0.0, best
        for _ in range(HALVINGS if stand_at(best).margin() < ride.tip_safety else 0):
            middle = (low + high) / 2
            low, high = (middle, high) if stand_at(middle).margin() >= ride.tip_safety else (low, middle)
            best, name = low, plan.name
    return best, name


def pushes_of(train: TrainPlan) -> np.ndarray:
    """Return with what force [N] the wagons behind push on each wagon at its front coupling as the train stops."""
    ride, hardest = train.description.ride, rates(train)[1]
    return coupling_pulls([max(0.0, float(inertia_force(mass, hardest) - rolling_resistance(mass, ride.rolling)))
                           for mass in masses(train)])


def _stand(train, plan, radius, swing, push):
    """Return a function of the speed [mm/s] that gives how a wagon stands on a curve that turns either way."""
    ride, track = train.description.ride, train.description.track
    spacing = track.gauge + track.rail_head
    tilt = radians(ride.floor_tilt) + float(joint_tilt(min(ride.joint_step, spacing), spacing))
    aside = string_line_force(push, plan.length + train.description.coupler.gap, radius) * plan.coupling.height
    of = lading(plan, train.description.printer.material, {name: swing for name in plan.wagon.cups})
    return lambda speed: Stand(of, tuple(Edge(2, sign, spacing / 2, speed**2 / radius, tilt, float(aside))
                                         for sign in (1, -1)))


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
    tilt = radians(ride.floor_tilt)
    liquids = [one for one in liquids if not one.spills_at_rest(tilt, ride.reserve)]
    found, pushes = [], pushes_of(train)
    for radius, curvature in swing_curvatures(path).items():
        tip, tips = tip_speed(train, radius, curvature * radius, pushes)
        spill, spills = min(((spill_speed(one, curvature, tilt, ride.reserve), one.name) for one in liquids),
                            default=(inf, ""))
        found.append(CurveSpeed(radius, tip, tips, spill, spills, min(ride.speed, tip, spill)))
    return tuple(found)


def spill_speed(liquid: Liquid, curvature: float, tilt: float, reserve: float) -> float:
    """Return the speed [mm/s] at which a liquid reaches its `reserve` [mm] of dry wall where the swings of a curve
    add up to the steady rise of `curvature` [1/mm], on a floor leaning by `tilt` [rad]."""
    room = max(liquid.room(tilt, reserve), 0.0)
    return float(curve_speed(1 / curvature, liquid.level_acceleration(room)))
