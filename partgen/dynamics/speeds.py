"""How fast: the highest speed for each curve of the plan, what tips or derails there and what spills."""

from collections.abc import Collection
from functools import cache
from math import ceil, inf
from typing import cast

from msgspec import Struct

from partgen.describe.field import limits
from partgen.describe.track_tables import Track
from partgen.describe.train_tables import Ride
from partgen.dynamics.laps import rises, room_of
from partgen.dynamics.liquids import liquids_of
from partgen.dynamics.questions import Unheld, holds, unheld
from partgen.dynamics.search import largest, ridden
from partgen.dynamics.survey import path_of
from partgen.identity import RampId, SeatId
from partgen.plan.train import TrainPlan

SLOWEST, FASTEST = map(int, limits(Ride.model_fields["speed"]))       # mm/s
LONGEST = min(limits(Ride.model_fields[name])[1] for name in ("start_time", "stop_time"))     # s
FINE = 10               # steps to a mm/s
TIPS = ("tip-curve", "tip-stop", "cup-hold")
DERAILS = (*TIPS, "string-line")
SPILLS = ("spill-curve", "spill-stop")
MORE = 1.03             # times a speed: less is not worth a longer start or stop
AT_RAMPS = ("tip-stop", "spill-stop")
WAYS = {"tip-curve": "tips", "tip-stop": "tips", "cup-hold": "tips", "string-line": "derails", "spill-curve": "spills",
        "spill-stop": "spills"}
"""What happens beyond a speed, by the question that it is about."""


class CurveSpeed(Struct, frozen=True):
    """A curve radius of the plan [mm], the highest speeds [mm/s] at which nothing tips or derails and nothing spills,
    run at them everywhere, what does so beyond ("" where nothing limits), the speed to run, and in words what it does
    beyond either, "tips", "spills at a stop"."""

    radius: float
    tip: float
    tips: str
    spill: float
    spills: str
    speed: float
    tip_way: str = "tips"
    spill_way: str = "spills"


def curve_speeds(train: TrainPlan) -> tuple[CurveSpeed, ...]:
    """Return the speed for each curve radius of the plan, sharpest first; at most the wished running speed.

    The checks hold every one of them: they are asked of the train run at it, curves that are sharper eased to the
    radius. A cup that spills at a crawl has no say: it must hold less, whatever the speed; nor has a ramp that takes
    longer than wished even then, nor a flange that climbs as slow a train starts. What tips at a crawl leaves no speed.
    """
    return tuple(_curve_speed(train, radius, radius if place else 0.0)
                 for place, radius in enumerate(radii_of(train.description.track)))


def radii_of(track: Track) -> list[float]:
    """Return every radius [mm] that curves of the plan have, sharpest first."""
    return sorted({round(1 / abs(piece.curvature), 6) for piece in path_of(track).pieces if piece.curvature})


def _curve_speed(train: TrainPlan, radius: float, eased: float) -> CurveSpeed:
    """Return the speed of one radius [mm], sharper curves `eased` to it, none at 0."""
    wished = train.description.ride.speed
    spill, spilling = _highest(train, SPILLS, eased, (wished,))
    tip, tipping = _highest(train, DERAILS, eased, (wished, spill))
    if SLOWEST < tip < spill:
        spill, spilling = _highest(train, SPILLS, eased, (wished, tip))
    tips, tip_way = _beyond(train, tip, tipping, eased)
    spills, spill_way = _beyond(train, spill, spilling, eased)
    return CurveSpeed(radius, tip, tips, spill, spills, min(wished, tip, spill), tip_way, spill_way)


def _highest(train: TrainPlan, questions: Collection[str], radius: float,
             also: Collection[float]) -> tuple[float, Unheld]:
    """Return the highest speed [mm/s], in tenths, at which all questions hold, infinite where the fastest does, and
    what does not hold just over it. What does not hold at the slowest speed is excused, but for what tips there: it
    leaves none at all.

    A ramp that takes its time at a high speed may be gentler than at a lower one: those `also` asked [mm/s] hold, if
    they lie below.
    """
    def at(step: float) -> TrainPlan:
        return ridden(train, speed=step / FINE)

    slowest, fastest = SLOWEST * FINE, FASTEST * FINE
    crawl = unheld(at(slowest), questions, radius)
    if tipping := frozenset(one for one in crawl if one[0] in TIPS):
        return 0.0, tipping

    @cache
    def passes(step: float) -> bool:
        return holds(at(step), questions, radius, crawl)

    asked = [FINE * speed for speed in also if SLOWEST < speed < FASTEST]
    over = min((step for step in (*asked, fastest) if not passes(step)), default=None)
    if over is None:
        return inf, frozenset()
    step = largest(slowest, ceil(over), passes) or slowest
    between = [one for one in asked if step < one < step + 1 and passes(one)]
    return max(step, *between, slowest) / FINE, unheld(at(min(step + 1, over)), questions, radius) - crawl


def _beyond(train: TrainPlan, speed: float, failing: Unheld, radius: float) -> tuple[str, str]:
    """Say what fails just over a `speed` [mm/s], a wagon, a cup in its seat, a cup, and what it does: at a start or
    stop where it could go MORE times as fast if those took their time, else in the curve. It is the fullest cup's fault
    where a ramp takes too long."""
    if not failing:
        return "", ""
    check, who = min(failing, key=lambda one: (isinstance(one[1], RampId), [*WAYS].index(one[0]), str(one[1])))
    calm = ridden(train, speed=MORE * speed, start_time=LONGEST, stop_time=LONGEST)
    own = speed > 0 and check in AT_RAMPS and holds(calm, SPILLS if check in SPILLS else TIPS, radius)
    if check not in SPILLS:
        return str(who), f"{WAYS[check]}{' at starts and stops' if own else ''}"
    fullest = max(liquids_of(train), key=lambda liquid: rises(train, liquid).ramps / room_of(train, liquid))
    cup = fullest.name if isinstance(who, RampId) else cast(SeatId, who).cup
    if not own:
        return cup, WAYS[check]
    if isinstance(who, RampId):
        return cup, f"needs a longer {who}"
    risen = next(rises(ridden(train, speed=speed), liquid) for liquid in liquids_of(train) if liquid.name == cup)
    return cup, f"{WAYS[check]} at a {'start' if risen.starting > risen.stopping else 'stop'}"
