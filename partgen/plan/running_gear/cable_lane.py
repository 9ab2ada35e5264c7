"""The way of passing cables under a frame: along its left edge, clear of wheels and drawbars, tied up to its ribs.

A rib of the frame has an eye beside the sole bar: a tie goes through it, round what is left of the rib below and the
cables under that. In wagon axes; all in mm.
"""

from collections.abc import Iterable, Sequence
from itertools import pairwise
from math import cos, radians, sin

from msgspec import Struct

from partgen.plan.context import Context
from partgen.plan.coupling import CouplingPlan
from partgen.plan.outline import Spans, between, grown
from partgen.plan.running_gear.bogie import BogieGear
from partgen.plan.running_gear.gear import RunningGear, side_play

EYE, EYE_HIGH = 3.0, 2.4    # along y and up: a tie 2.2 wide goes through
UNDER = 1.8             # of rib under an eye: the bridge that the tie holds on to
OVER = 0.6              # of rib over it, at least
BESIDE = 1.0            # cables to a wheel at its outermost
FREE = 0.4              # over a drawbar, and beside a coupler's seat and what is solid
FEWEST = 2              # ties that hold a cable under a frame


class CableLane(Struct, frozen=True):
    """From where to where across [mm] cables may lie under a frame, how wide they lie, side by side in one layer; eyes
    in its ribs as (x, y), from the rear forward, the ribs' thickness; and where they come out at its ends [mm] across.
    """

    inner: float
    outer: float
    wide: float
    eyes: tuple[tuple[float, float], ...] = ()
    rib: float = 0.0
    out: float = 0.0

    @property
    def spare(self) -> float:
        """Room [mm] that is left beside the cables; below 0 they have none."""
        return self.outer - self.inner - self.wide

    def volume(self) -> float:
        """Return what the eyes take [mm3]."""
        return len(self.eyes) * self.rib * EYE * EYE_HIGH


def resolve(context: Context, gear: RunningGear, coupling: CouplingPlan, size: tuple[float, float], high: float,
            pockets: Sequence[Spans], corner: float, kept: Iterable[Spans]) -> CableLane | None:
    """Resolve the lane under a frame of a `size`, its hollows `high` [mm] with corners of a radius `corner` [mm], which
    no eye ends in; what is `kept` solid has none. None where no cable passes.

    Beyond the wheels it comes in to the coupler's seat, where neighbours that turn move it least, if the cables have
    room over the drawbar and no arm of a bogie swings there.
    """
    passing = context.cables.passing
    if not passing:
        return None
    bar, swing, wide = coupling.front, radians(context.coupler.swing), sum(run.flat for run in passing)
    turned, swept = _arms(gear)
    drawbar = bar.reach * sin(swing) + bar.head_width / 2 * cos(swing) + turned
    over = gear.frame_bottom - context.coupler.height - bar.thickness / 2 >= max(run.core for run in passing) + FREE
    (aside, ahead), solid = _wheels(context, gear), [grown(one, FREE) for one in kept]
    inner, over = max(aside + BESIDE, swept, 0.0 if over else drawbar), over and not gear.arm
    left = sorted(pocket for pocket in pockets if pocket[1][0] > 0)
    side = max((y[1] for _, y in left), default=0.0)
    eyes = []
    for (x0, y0), (x1, y1) in pairwise(left) if high >= UNDER + EYE_HIGH + OVER else ():
        x, inside = (x0[1] + x1[0]) / 2, over and abs(x0[1] + x1[0]) / 2 > ahead
        y = max(y0[0], y1[0]) + corner + EYE / 2 if inside else side - corner - EYE / 2
        eye = (x0[1], x1[0]), (y - EYE / 2, y + EYE / 2)
        rib = 0 < x1[0] - x0[1] <= gear.rib + 1e-6 and max(y0[0], y1[0]) < eye[1][0] and eye[1][1] < min(y0[1], y1[1])
        if rib and all(between(eye, one) >= 0 for one in solid):
            eyes.append((x, y))
    outer = [y for x, y in eyes if abs(x) > ahead]
    out = max(*outer, coupling.guard_outer + FREE + wide / 2) if over and len(outer) > 1 else max(
        inner + wide / 2, min(side, size[1] / 2 - wide / 2))
    return CableLane(inner, size[1] / 2, wide, tuple(eyes), gear.rib, out)


def _arms(gear: RunningGear) -> tuple[float, float]:
    """Return how far [mm] aside drawbars turn on arms of bogies, and how far such arms reach; 0 without arms."""
    if not isinstance(gear, BogieGear) or not gear.arm:
        return 0.0, 0.0
    out = sin(radians(gear.room.angle))
    return gear.arm.seat.x * out, gear.arm.seat.x * out + gear.arm.seat.boss + BESIDE


def _wheels(context: Context, gear: RunningGear) -> tuple[float, float]:
    """Return how far [mm] aside, and how far from the wagon's middle lengthwise, wheels reach, slid and swung."""
    wheels, flange = context.wheelset, context.wheelset.flange_diameter / 2
    half = wheels.back_to_back / 2 + wheels.width + side_play(gear, wheels, context.track)
    if not isinstance(gear, BogieGear):
        return half, gear.base / 2 + gear.travel + flange + BESIDE
    swing, ahead = radians(gear.room.angle), gear.bogie_wheelbase / 2 + flange
    return half * cos(swing) + ahead * sin(swing), gear.base / 2 + gear.room.reach + BESIDE
