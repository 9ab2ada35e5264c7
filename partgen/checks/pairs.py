"""Coupled neighbours over the whole plan: drawbars, bodies, and the pull that draws a wagon inward."""

from math import degrees, radians

import numpy as np

from partgen.checks.survey import pairs, path_of, place
from partgen.finding import judge, up
from partgen.formulas.balance import nadal_limit
from partgen.formulas.traction import inertia_force, rolling_resistance
from partgen.plan.mass import centre, loads
from partgen.plan.train import TrainPlan

BODY_GAP = 2.0          # mm at the nearest place (common practice, no source)
FACE_SHARE = 0.25       # of the magnet's diameter by which two faces may miss each other
FRICTION = 0.3          # wheel on rail, dry: the unfavourable side for climbing (common practice, no source)
ROLLING = 0.04          # resistance over weight of plain bearings (common practice, no source)


def coupler_swing(train: TrainPlan):
    """Hold the largest drawbar angle over the plan against the angle at which the seat stops it."""
    track, limit = train.description.track, train.description.coupler.swing
    for name, lead, trail, pair in pairs(train):
        angle = np.maximum(np.abs(pair.lead_angle) if lead.name != "locomotive" else 0.0, np.abs(pair.trail_angle))
        worst = int(np.argmax(angle))
        value = degrees(angle[worst])
        yield judge("coupler-swing", name, value, limit, "max", "deg",
                    f"the drawbar turns {value:.1f} deg {place(path_of(track), pair.station[worst])}: raise "
                    f"coupler.swing to {up(value)} deg, lengthen coupler.gap, or put a straight between reverse curves")


def body_gap(train: TrainPlan):
    """Hold the nearest distance between neighbours' bodies over the plan against what they need."""
    track = train.description.track
    for name, _, _, pair in pairs(train):
        worst = int(np.argmin(pair.gap))
        value = pair.gap[worst]
        yield judge("body-gap", name, value, BODY_GAP, "min", "mm",
                    f"the bodies come within {value:.1f} mm {place(path_of(track), pair.station[worst])}: lengthen "
                    f"coupler.gap by {up(1.5 * (BODY_GAP - value))} mm to begin with, or narrow the bodies")


def coupler_height(train: TrainPlan):
    """Hold the locomotive's measured coupler height against the wagons'."""
    coupler = train.description.coupler
    own = train.description.train.locomotive.coupler_height
    miss = abs((coupler.height if own is None else own) - coupler.height)
    limit = FACE_SHARE * coupler.magnet_diameter
    first = train.wagons[0].name
    yield judge("coupler-height", f"locomotive + {first}", miss, limit, "max", "mm",
                f"the faces miss each other by {miss:.1f} mm: set coupler.height to "
                f"{coupler.height if own is None else own:g} mm")


def string_line(train: TrainPlan):
    """Hold the inward pull on each wagon, run empty, against wheel climb (Nadal) and tipping over the inner rail.

    The pull at each coupling is what all behind it takes: rolling, and speeding up to running speed within
    the stop time. The value is the worse of the two shares used up.
    """
    description = train.description
    material = description.printer.material
    empty = [[load for load in loads(plan, material) if load.kind != "liquid" and load.kind != "cup"]
             for plan in train.wagons]
    full = [centre(loads(plan, material))[0] for plan in train.wagons]
    rate = description.ride.speed / description.ride.stop_time
    need = [rolling_resistance(mass, ROLLING) + inertia_force(mass, rate) for mass in full]
    pull = np.cumsum(need[::-1])[::-1]
    inward = _side_pull(train, pull)
    for place_, plan in enumerate(train.wagons):
        mass, (_, _, height) = centre(empty[place_])
        share, what = _used(description, plan, mass, inward[place_])
        yield judge("string-line", plan.name, share, 1.0, "max", "1",
                    f"the train's pull draws it inward with {inward[place_]:.2f} N ({what}): put it further back, "
                    f"load it with {up(mass * (share - 1), 0)} g, or start more gently")


def _side_pull(train, pull) -> list[float]:
    """Return the largest inward force on each wagon [N] from both its drawbars, over the plan."""
    coupled = list(pairs(train))
    forces = []
    for k in range(len(train.wagons)):
        front = pull[k] * np.max(np.abs(np.sin(coupled[k][3].trail_angle)))
        rear = pull[k + 1] * np.max(np.abs(np.sin(coupled[k + 1][3].lead_angle))) if k + 1 < len(pull) else 0.0
        forces.append(float(front + rear))
    return forces


def _used(description, plan, mass, inward) -> tuple[float, str]:
    """Return the share used up of the climb limit and of the tipping limit, the worse one with its name."""
    weight = mass * 9.80665e-3
    spacing = description.track.gauge + description.track.rail_head
    climb = inward / (nadal_limit(radians(plan.wheelset.flange_angle), FRICTION) * weight / 2)
    tip = inward * plan.coupling.height / (weight * spacing / 2)
    return max((climb, "wheel climb"), (tip, "tipping"))
