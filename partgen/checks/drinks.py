"""Do the drinks stay in: the peak rise of every liquid, sloshing included, against its freeboard."""

from functools import lru_cache
from math import radians

import numpy as np

from partgen.checks.search import largest, smallest
from partgen.dynamics.liquids import Liquid, liquid_of
from partgen.dynamics.ramps import profiles, ridden
from partgen.dynamics.survey import path_of
from partgen.finding import Finding, down, judge, up
from partgen.formulas import response
from partgen.formulas.response import curve_history
from partgen.formulas.slosh import steady_rise
from partgen.formulas.stop import speed_at
from partgen.identity import RampId, SeatId
from partgen.plan.train import TrainPlan

LAPS = 2                # of a closed plan: what swings from further back has died down (common practice, no source)
SETTLED = 30.0          # s over which a steady curve's acceleration grows, so that the liquid only leans
PIECES = 96             # straight lines that stand for the square of the speed while it changes in a curve
SLOWEST, LONGEST = 10, 200      # mm/s and tenths of s: the ends of what a remedy may ask of speed and of a ramp's time


def spill_curve(train: TrainPlan):
    """Hold each liquid's highest climb on the plan, run at full speed over curves without easements, against
    its freeboard."""
    ride = train.description.ride
    for subject, liquid in _poured(train):
        yield _judged("spill-curve", subject, liquid, _on_curves(train, liquid, ride.speed), ride, "on the curves",
                      lambda depth, one=liquid: _on_curves(train, one.filled(depth), ride.speed),
                      lambda one=liquid: _slower(train, one))


def spill_stop(train: TrainPlan):
    """Hold each liquid's highest climb at a start and a stop in the plan's sharpest curve against its
    freeboard, and the time that a shaped ramp takes against the time wished."""
    ride = train.description.ride
    for subject, liquid in _poured(train):
        rise = max(ramp_rises(train, liquid))
        yield _judged("spill-stop", subject, liquid, rise, ride, "at starts and stops",
                      lambda depth, one=liquid: max(ramp_rises(train, one.filled(depth))),
                      lambda one=liquid: _gentler(train, one))
    for name, profile in zip(("start", "stop"), profiles(train)):
        taken, wished = float(profile[0][-1]), getattr(ride, f"{name}_time")
        if ride.ramp == "shaped":
            yield judge("spill-stop", RampId(name), taken, max(wished, 1e-9), "max", "s",
                        f"a {name} that keeps all cups dry takes {taken:.2f} s: set ride.{name}_time to "
                        f"{up(taken, 2)} s, or run slower than {ride.speed:g} mm/s")


def _poured(train):
    """Yield (subject, Liquid) for every kind of cup of every wagon that has anything in it."""
    for plan in train.asked:
        for name in dict.fromkeys((*plan.wagon.cups, *plan.wagon.inserts)):
            cup = train.description.cup[name]
            if cup.fill > 0:
                yield SeatId(plan.name, name), liquid_of(name, cup)


# ---- how high it climbs

def _on_curves(train, liquid: Liquid, speed: float) -> float:
    return curve_rise(liquid, train.description.track, speed)


@lru_cache(maxsize=1024)
def curve_rise(liquid: Liquid, track, speed: float) -> float:
    """Return the highest rise [mm] of a liquid run over the track's plan at a `speed` [mm/s], from rest in
    it.

    It turns with the wagon here; a curve turns far more slowly than a cup swings.
    """
    path = path_of(track)
    pieces = path.pieces * (LAPS if path.closed else 1)
    history = curve_history(speed, [piece.length for piece in pieces], [piece.curvature for piece in pieces])
    return response.crest(*history, *liquid.modes)


def curve_swing(liquid: Liquid, track, speed: float) -> float:
    """Return how far a liquid rises on the plan over the steady rise of its sharpest curve [1], 1 at
    least."""
    sharpest = max(abs(piece.curvature) for piece in path_of(track).pieces)
    steady = steady_rise(liquid.radius, speed**2 * sharpest)
    return max(1.0, float(curve_rise(liquid, track, speed) / steady)) if steady > 0 else 1.0


def ramp_swing(train: TrainPlan, liquid: Liquid) -> float:
    """Return how far a liquid rises at a start or stop over the steady rise of its hardest moment [1], 1 at
    least."""
    return float(max(1.0, *(_peak(liquid, profile) / steady_rise(liquid.radius, np.abs(profile[1]).max())
                            for profile in map(_hashable, profiles(train)))))


def ramp_rises(train: TrainPlan, liquid: Liquid) -> tuple[float, float]:
    """Return the highest rise [mm] of a liquid at a start and at a stop, in the sharpest curve where there is
    one.

    Lengthwise and sideways peaks are taken as if they met: the safe side.
    """
    sharpest = max(abs(piece.curvature) for piece in path_of(train.description.track).pieces)
    return tuple(_ramp_rise(liquid, _hashable(profile), train.description.ride.speed, sharpest, start)
                 for profile, start in zip(profiles(train), (True, False)))


def _hashable(profile):
    return tuple(tuple(values.tolist()) for values in profile)


@lru_cache(maxsize=1024)
def _peak(liquid, profile) -> float:
    return liquid.peak(*profile)


def _ramp_rise(liquid, profile, speed, curvature, start) -> float:
    lengthwise = _peak(liquid, profile)
    if not curvature:
        return lengthwise
    times = np.linspace(profile[0][0], profile[0][-1], PIECES)
    sideways = curvature * speed_at(*profile, 0.0 if start else speed, times)**2
    if not start:
        times, sideways = np.append(times[0] - SETTLED, times), np.append(0.0, sideways)
    return float(np.hypot(lengthwise, response.crest(times, sideways, *liquid.modes)))


# ---- verdict and remedy

def _judged(check, subject, liquid, rise, ride, where, refilled, otherwise) -> Finding:
    tilt, limit = radians(ride.floor_tilt), liquid.freeboard - ride.reserve
    climb = min(liquid.climbed(rise, tilt), 10 * liquid.rim)
    if climb <= limit:
        return judge(check, subject, climb, limit, "max", "mm", "")
    depth = _safe_depth(liquid, tilt, ride.reserve, refilled)
    cures = [f"fill it only {down(depth)} mm deep" if depth >= 0.1 else "", otherwise()]
    return judge(check, subject, climb, limit, "max", "mm",
                 f"{liquid.label} climbs {climb:.1f} mm {where}, {max(limit, 0):.1f} mm of wall may get wet: "
                 + (", or ".join(cure for cure in cures if cure) or f"use a cup {up(climb - limit)} mm taller"))


def _safe_depth(liquid, tilt, reserve, refilled) -> float:
    """Return the largest depth [mm], in tenths, at which the liquid stays in; 0 where none does."""
    tenths = largest(1, int(np.ceil(10 * liquid.depth)), lambda tenths: refilled(tenths / 10) <= liquid.filled(
        tenths / 10).room(tilt, reserve))
    return (tenths or 0) / 10


def _slower(train, liquid) -> str:
    """Return the remedy of a lower speed; none where the cup spills standing."""
    ride = train.description.ride
    room = liquid.room(radians(ride.floor_tilt), ride.reserve)
    speed = largest(SLOWEST, int(np.ceil(ride.speed)),
                    lambda speed: _on_curves(train, liquid, float(speed)) <= room) if room > 0 else None
    return f"run at {speed} mm/s" if speed else ""


def _gentler(train, liquid) -> str:
    """Return the remedy of ramps that take longer; none where that is no cure."""
    ride = train.description.ride
    if ride.ramp == "shaped":       # it takes the time it needs already
        return ""
    room = liquid.room(radians(ride.floor_tilt), ride.reserve)
    wanted = []
    for number, name in enumerate(("start_time", "stop_time")):
        def dry(tenths, name=name, number=number):
            return ramp_rises(ridden(train, **{name: tenths / 10}), liquid)[number] <= room

        if ramp_rises(train, liquid)[number] > room:
            tenths = smallest(int(10 * getattr(ride, name)), LONGEST, dry) if room > 0 else None
            if tenths is None:
                return ""
            wanted.append(f"ride.{name} to {tenths / 10:g} s")
    return f"set {' and '.join(wanted)}, or ride.ramp to \"shaped\""
