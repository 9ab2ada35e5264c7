"""What the track does to a liquid: its curves, the joints of its rails and the gaps of its crossings. Everybody asks
`on_track`."""

from collections.abc import Iterable
from functools import lru_cache
from itertools import pairwise
from math import hypot, radians, sqrt, tan

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from partgen.dynamics.at_grade import crossed
from partgen.dynamics.curves import CENTRE, OnTrack, Stand, stands_of
from partgen.dynamics.liquids import Liquid
from partgen.dynamics.survey import path_of
from partgen.dynamics.swings import LAPS, on_curves
from partgen.formulas import GRAVITY
from partgen.formulas.jolts import climbed_share, climbing_way, dip_share, gap_drop, joints_before
from partgen.plan.train import TrainPlan


class Rails(Struct, frozen=True):
    """The joints of a track: the highest `step` at one, their `spacing`, the `gauge` [mm], and how many there are on
    the plan, or on one lap of it where it is `closed`."""

    step: float
    spacing: float
    gauge: float
    count: int
    closed: bool


class Gaps(Struct, frozen=True):
    """The crossings of a track: the `gap` in their rails, the depth of their flangeways' `floor`, infinite where nobody
    measured it, how much later the right rail's gaps come than the left one's, their `skew`, the shortest `spacing`
    from one passage to the next, the `gauge` [mm], and how many passages there are on the plan, or on one lap of it
    where it is `closed`."""

    gap: float
    floor: float
    skew: float
    spacing: float
    gauge: float
    count: int
    closed: bool


def gaps_of(train: TrainPlan) -> tuple[Gaps, ...]:
    """Return the crossings of the train's track, one entry for each kind of gap; spacing and count are those of all."""
    track = train.description.track
    path, found = path_of(track), crossed(track)
    at = [one.station for one in found]
    ways = [*(b - a for a, b in pairwise(at)), *((path.length - at[-1] + at[0],) if track.closed and at else ())]
    kinds = dict.fromkeys((one.gap, one.floor, one.angle) for one in found)
    return tuple(Gaps(gap, floor, track.gauge / tan(radians(angle)), min(ways, default=path.length), track.gauge,
                      len(at), track.closed) for gap, floor, angle in kinds)


def rails_of(train: TrainPlan) -> Rails | None:
    """Return the joints of the train's track; None where it has none, or none with a step."""
    track, step = train.description.track, train.description.joint_step
    if not step:
        return None
    path = path_of(track)
    return Rails(step, track.joint_spacing, track.gauge, max(1, round(path.length / track.joint_spacing)), path.closed)


def on_track(train: TrainPlan, liquid: Liquid, speed: float, radius: float = 0.0) -> OnTrack:
    """Return what curves, rail joints and crossings make of a liquid, run at any speed up to `speed` [mm/s]; curves
    sharper than `radius` [mm] eased to it, none at 0."""
    stands, rails = stands_of(train, liquid), rails_of(train)
    found = on_curves(liquid, stands, train.description.track, speed, radius)
    most, likely = on_joints(liquid, stands, rails, speed) if rails else (0.0, 0.0)
    for gaps in gaps_of(train):
        deep, too = on_joints(liquid, stands, gaps, speed)
        # The crossing stands for the highest joint: beside it the others have no more than their own swings.
        most, likely = max(most, deep + sqrt(3) * likely), hypot(likely, too)
    return replace(found, crest=found.crest + most, swings=found.swings + most, jolts=most,
                   likely=hypot(found.likely, likely))


@lru_cache(maxsize=2048)
def on_joints(liquid: Liquid, stands: Iterable[Stand], rails: Rails | Gaps, speed: float) -> tuple[float, float]:
    """Return how high [mm] rail joints, or crossings, raise a liquid, run over at `speed` [mm/s]: at the highest joint,
    the others' swings added as `joints_before` says; and how high they are likely to."""
    found = [_dipped(liquid, stand, rails, speed) if isinstance(rails, Gaps) else _jolted(liquid, stand, rails, speed)
             for stand in stands if stand != CENTRE]
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
    fades, again = _kept(liquid, rails, speed)
    left = swings * again
    both = (left[:3].sum() + left.sum()) / 2
    highest = max(2 * pitch * both, roll * (both + lean), pitch * (left.sum() + lean))
    before = left * joints_before(fades, rails.count) * max(2 * pitch, roll)
    squares = sqrt(float(before @ before)), max(2 * pitch, roll) * sqrt(float(left @ left))
    return float(highest + squares[0]), hypot(*squares) / sqrt(3)


def _kept(liquid: Liquid, rails: Rails | Gaps, speed: float) -> tuple[np.ndarray, np.ndarray]:
    """Return what is left of each mode's swing after one spacing, and by what all laps before make it more."""
    omegas, dampings, _ = liquid.modes
    fades = np.exp(-dampings * omegas * rails.spacing / speed)
    laps = np.minimum(1 / np.maximum(1 - fades**(2 * rails.count), 1e-9), LAPS) if rails.closed else np.ones(len(fades))
    return fades, np.sqrt(laps)


def _dipped(liquid: Liquid, stand: Stand, gaps: Gaps, speed: float) -> tuple[float, float]:
    """Return the same over crossings, for one place of a cup.

    Each wheel drops and rises again at two gaps. At worst what that leaves of the first three modes meets, of both
    axles and both gaps; of the quicker ones the root of the sum of their squares, as phases go. On top comes how far
    the cup moves under its liquid while a dip lasts. Both wheels of an axle pitch the wagon, the left ones against the
    right ones roll it, as much as their gaps lie apart; at a right angle they lie side by side. Flanges that run on
    the floor go up at one end of the piece and down at its other.
    """
    omegas, _, rises = liquid.modes
    down, spare = float(gap_drop(stand.tread, gaps.gap)), gaps.floor - stand.flange
    drop, turned = abs(min(down, spare)), omegas * gaps.gap / speed
    shift = drop * rises * (stand.height + liquid.mode_heights) * omegas**2
    swings = shift + drop * rises * GRAVITY
    if spare <= 0:
        dip, parted = np.full(len(omegas), 2.0), np.zeros(len(omegas))
    else:
        dip = 2 * np.asarray(dip_share(turned, min(down / (3 * drop), 1.0)))
        parted = np.minimum(omegas * gaps.skew / speed, 2.0)
    fades, again = _kept(liquid, gaps, speed)
    left = swings * dip * np.hypot(2 / stand.base, parted / gaps.gauge) * again
    lever = max(1 / stand.base, 1 / gaps.gauge if parted.any() else 0.0)
    before = left * joints_before(fades, gaps.count)
    squares = sqrt(float(before @ before)), sqrt(float(left @ left))
    highest = (left[:3].sum() + left.sum()) / 2 + lever * shift.sum()
    return float(highest + squares[0]), hypot(*squares) / sqrt(3)
