"""What the track does to a liquid: its curves, and the joints of its rails. Everybody asks `on_track`."""

from collections.abc import Iterable
from functools import lru_cache
from math import hypot, sqrt

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from partgen.dynamics.curves import CENTRE, OnTrack, Stand, stands_of
from partgen.dynamics.liquids import Liquid
from partgen.dynamics.survey import path_of
from partgen.dynamics.swings import LAPS, on_curves
from partgen.formulas import GRAVITY
from partgen.formulas.jolts import climbed_share, climbing_way, joints_before
from partgen.plan.train import TrainPlan


class Rails(Struct, frozen=True):
    """The joints of a track: the highest `step` at one, their `spacing`, the `gauge` [mm], and how many there are on
    the plan, or on one lap of it where it is `closed`."""

    step: float
    spacing: float
    gauge: float
    count: int
    closed: bool


def rails_of(train: TrainPlan) -> Rails | None:
    """Return the joints of the train's track; None where it has none, or none with a step."""
    track, step = train.description.track, train.description.joint_step
    if not step:
        return None
    path = path_of(track)
    return Rails(step, track.joint_spacing, track.gauge, max(1, round(path.length / track.joint_spacing)), path.closed)


def on_track(train: TrainPlan, liquid: Liquid, speed: float, radius: float = 0.0) -> OnTrack:
    """Return what curves and rail joints make of a liquid, run at any speed up to `speed` [mm/s]; curves sharper than
    `radius` [mm] eased to it, none at 0."""
    stands, rails = stands_of(train, liquid), rails_of(train)
    found = on_curves(liquid, stands, train.description.track, speed, radius)
    most, likely = on_joints(liquid, stands, rails, speed) if rails else (0.0, 0.0)
    return replace(found, crest=found.crest + most, swings=found.swings + most, jolts=most,
                   likely=hypot(found.likely, likely))


@lru_cache(maxsize=2048)
def on_joints(liquid: Liquid, stands: Iterable[Stand], rails: Rails, speed: float) -> tuple[float, float]:
    """Return how high [mm] rail joints raise a liquid, run over at `speed` [mm/s]: at the highest joint, the others'
    swings added as `joints_before` says; and how high they are likely to."""
    found = [_jolted(liquid, stand, rails, speed) for stand in stands if stand != CENTRE]
    return max((most for most, _ in found), default=0.0), max((likely for _, likely in found), default=0.0)


def _jolted(liquid: Liquid, stand: Stand, rails: Rails, speed: float) -> tuple[float, float]:
    """Return the same for one place of a cup.

    Both rails step: each axle in turn pitches the wagon by step over wheelbase, there and back. One rail steps: each
    axle rolls it by half of step over gauge, and it stays so. A mode is driven by gravity's share g t of the lean t,
    and by the displacement z t'' of its own height z over the rails. At worst the two axles' swings of the first three
    modes meet; the quicker ones of the first axle have parted by the time of the second. Laps bring the same joints
    again, but no two take the same time to a swing: their squares add up.
    """
    omegas, dampings, rises = liquid.modes
    heights = stand.height + liquid.mode_heights
    climbed = climbed_share(omegas * climbing_way(rails.step, stand.tread) / speed)
    swings = rails.step * rises * (GRAVITY + heights * omegas**2) * climbed             # by a lean of step over 1 mm
    lean, pitch, roll = rails.step * liquid.steady(GRAVITY), 1 / stand.base, 1 / rails.gauge
    fades = np.exp(-dampings * omegas * rails.spacing / speed)
    again = np.sqrt(np.minimum(1 / np.maximum(1 - fades**(2 * rails.count), 1e-9), LAPS)) if rails.closed else 1.0
    left = swings * again
    both = (left[:3].sum() + left.sum()) / 2
    highest = max(2 * pitch * both, roll * (both + lean), pitch * (left.sum() + lean))
    before = left * joints_before(fades, rails.count) * max(2 * pitch, roll)
    squares = sqrt(float(before @ before)), max(2 * pitch, roll) * sqrt(float(left @ left))
    return float(highest + squares[0]), hypot(*squares) / sqrt(3)
