"""Long wagons on bogies as planned: room to swing, how far any track swings them, what the body is thrown out.

Places and angles come from stepping along curves with scipy's root finder, gaps from shapely.
"""

import re

import numpy as np
import pytest
from bogies import PLANS, RADIUS, TRAINS, described, planned, wheel_room
from gear_solids import wheels
from msgspec.structs import replace
from plans import cured
from scipy.optimize import brentq
from shapely import Point, box
from shapely.affinity import rotate

from partgen.checks import on_plan as paper
from partgen.checks.track import inner_throw, outer_throw
from partgen.checks.wishes import wanting
from partgen.describe.printer_tables import Printer
from partgen.describe.track_tables import ClearanceBand
from partgen.describe.wagon_tables import Wagon
from partgen.dynamics.survey import play_of
from partgen.plan.mass import loads
from partgen.plan.running_gear.bogie import KINK, largest_swing
from partgen.plan.train import resolve

# ---- the plan --------------------------------------------------------------------------------------

def test_a_wagon_without_pivot_spacing_has_no_bogies():
    plan = resolve(described(Wagon(name="two", wheelbase=70))).wagons[0]
    assert plan.gear.bogie_wheelbase == 0 and plan.base == plan.wagon.wheelbase == 70
    assert plan.gear.axles == (35, -35) and plan.gear.travel > 0
    assert len(plan.frame.slide.slots) == 2 and not plan.frame.bolsters


@pytest.mark.parametrize("train", TRAINS)
def test_plan_of_a_bogie_wagon(train):
    plan, wagon = PLANS[train], TRAINS[train].wagon[0]
    assert not plan.wanting and wheel_room(planned(train)).verdict == "pass"
    assert 2 * plan.gear.bogie.axle_x == plan.gear.bogie_wheelbase == plan.wagon.wheelbase
    assert plan.base == wagon.pivot_spacing and plan.gear.travel == 0 and plan.frame.slide is None
    a, p = wagon.pivot_spacing / 2, wagon.wheelbase / 2
    assert sorted(plan.gear.axles) == [-a - p, -a + p, a - p, a + p]
    assert {item.part: item.count for item in plan.items}["bogie"] == 2
    assert not {"axle-holder", "clamp-bar"} & {item.part for item in plan.items}
    assert [bolster.x for bolster in plan.frame.bolsters] == [a, -a]
    wheelsets = [load for load in loads(plan, Printer()) if load.name == "wheelset"]
    assert [load.mass for load in wheelsets] == 4 * [plan.wheelset.mass]
    assert sorted(load.x for load in wheelsets) == sorted(plan.gear.axles)


REFUSED = {
    "short body": ({"length": 155}, "bogies and coupler seats overlap", None),
    "thick king pin": ({"wheelbase": 12.0, "screw": "M3"}, "king pin's washer does not go between axles", 12.0),
    "narrow wheels": ({"screw": "M3"}, "no bogie with M3 screws goes between wheels 9 mm apart", 9.0),
}
"""What is changed, what the refusal says, and its value where that is a size [mm]; else it is what is missing."""


@pytest.mark.parametrize("name", REFUSED)
def test_plan_refuses_what_cannot_be(name):
    changed, words, value = REFUSED[name]
    train = "toy" if name == "short body" else "small"
    description = TRAINS[train]
    if name == "narrow wheels":
        description = described(description.wagon[0], 11.5, wheels(10, 11, 0.8, 9, 1.5), description.coupler)
    wagon = Wagon(**{**description.wagon[0].model_dump(), **changed})
    refusals = wanting(resolve(description.model_copy(update={"wagon": (wagon,)})).wagons[0])
    found = next(finding for finding in refusals if words in finding.reason)
    assert found.check == "wheel-room" and found.verdict == "fail"
    assert found.value < 0 == found.limit if value is None else found.value == value < found.limit
    if name != "narrow wheels":
        takes = float(re.findall(r"([\d.]+) mm(?: long)?$", found.reason)[0])
        field = "length" if name == "short body" else "wheelbase"
        grown = wagon.model_copy(update={field: takes})
        refusals = wanting(resolve(description.model_copy(update={"wagon": (grown,)})).wagons[0])
        assert not any(words in finding.reason for finding in refusals)


def test_wheel_room_fails_a_short_body_and_its_remedy_helps():
    shortest = PLANS["toy"].length
    assert wheel_room(planned("toy", length=shortest)).verdict == "pass"
    finding = wheel_room(planned("toy", length=shortest - 5))
    assert finding.verdict == "fail" and "coupler seat" in finding.reason
    told = cured(planned("toy", length=shortest - 5), "wheel-room")
    assert told["wagon[1].length"] <= shortest + 0.1 and 134 <= told["wagon[1].pivot_spacing"] < 140


def test_wheel_room_fails_bogies_that_meet_and_its_remedy_helps():
    close = described(Wagon(name="close", wheelbase=36, pivot_spacing=61), radius=120)
    finding = wheel_room(resolve(close))
    assert finding.verdict == "fail" and "other bogie" in finding.reason
    wider = cured(resolve(close), "wheel-room")["wagon[1].pivot_spacing"]
    again = described(Wagon(name="close", wheelbase=36, pivot_spacing=wider), radius=120)
    assert 61 < wider < 80 and wheel_room(resolve(again)).verdict == "pass"


@pytest.mark.parametrize("train", TRAINS)
def test_room_of_the_swinging_bogie_against_shapely(train):
    plan = PLANS[train]
    room, wheel = plan.gear.room, plan.wheelset
    ends = [plan.gear.bogie_wheelbase / 2 + s * wheel.flange_diameter / 2 for s in (-1, 1)]
    inner, outer = wheel.back_to_back / 2, wheel.back_to_back / 2 + wheel.width
    half_x, half_y = plan.gear.bogie.size[0] / 2, plan.gear.bogie.width / 2
    shapes = [box(-half_x, -half_y, half_x, half_y),
              *(box(s * ends[0], t * inner, s * ends[1], t * outer) for s in (1, -1) for t in (1, -1))]
    turned = [rotate(shape, yaw, origin=(0, 0)) for shape in shapes
              for yaw in np.linspace(-room.angle, room.angle, 121)]
    assert room.reach == pytest.approx(max(shape.bounds[2] for shape in turned), abs=0.01)
    for distance in (0.8 * room.reach, room.reach, 1.2 * room.reach):
        gap = min(shape.distance(Point(distance, 0)) for shape in turned) - 3.0
        assert room.gap(distance, 3.0) == pytest.approx(gap, abs=0.03)


# ---- swing and throw -------------------------------------------------------------------------------

def track_of(pieces):
    """Return the place of a station on a track of (length, curvature) pieces as a complex number."""
    starts, edges = [(0j, 1 + 0j)], [0.0]
    for length, bend in pieces:
        starts.append(onward(*starts[-1], length, bend))
        edges.append(edges[-1] + length)

    def at(s):
        number = min(max(np.searchsorted(edges, s, side="right") - 1, 0), len(pieces) - 1)
        return onward(*starts[number], s - edges[number], pieces[number][1])[0]

    return at


def onward(place, ahead, length, bend):
    if not bend:
        return place + ahead * length, ahead
    turn = np.exp(1j * bend * length)
    return place + ahead * (turn - 1) / (1j * bend), ahead * turn


def bogie_on(at, s, wheelbase):
    """Return pivot and direction of a bogie whose rear axle is at station `s`."""
    ahead = brentq(lambda t: abs(at(t) - at(s)) - wheelbase, s + 0.5 * wheelbase, s + 1.7 * wheelbase)
    return (at(s) + at(ahead)) / 2, at(ahead) - at(s)


def swings(at, s, wheelbase, spacing):
    rear, rear_ahead = bogie_on(at, s, wheelbase)
    front = brentq(lambda t: abs(bogie_on(at, t, wheelbase)[0] - rear) - spacing, s + 0.5 * spacing, s + 1.8 * spacing)
    pivot, ahead = bogie_on(at, front, wheelbase)
    return [abs(np.degrees(np.angle(turned / (pivot - rear)))) for turned in (rear_ahead, ahead)]


@pytest.mark.parametrize("wheelbase, spacing", [(36, 140), (60, 150), (40, 300)])
@pytest.mark.parametrize("bends", [(700, 1, 1), (700, 1, -1), (250, 1, -1, 1), (90, 1, -1, 1, -1), (400, 1, 0, -1)],
                         ids=["curve", "reverse", "snake", "wiggle", "straight between"])
def test_no_track_swings_a_bogie_further_than_is_planned(wheelbase, spacing, bends):
    length, *signs = bends
    at = track_of([(900, 0), *((length if sign else 60, sign / RADIUS) for sign in signs), (900, 0)])
    end = 900 + length * len(signs)
    most = max(max(swings(at, s, wheelbase, spacing)) for s in np.linspace(500, end, 90))
    toy = TRAINS["toy"]
    planned_for = largest_swing(toy.track, toy.wheelset["standard"], spacing, wheelbase)
    # play 37.5 + 0.2 - 31.2 - 2 * 2.6 = 1.3 mm turns the bogie and the body besides
    loose = np.degrees(np.arcsin(1.3 / wheelbase) + np.arcsin(1.3 / spacing)) + KINK
    assert most <= planned_for - loose + 0.01
    if length == 700:
        assert most == pytest.approx(planned_for - loose, abs=0.05), "no wider than needed"


def test_throw_counts_the_bogies_own_wheelbase():
    straight = Wagon(name="bar", wheelbase=60, pivot_spacing=160, length=255, width=60)
    train = resolve(described(straight, clearance=(ClearanceBand(low=50, high=60, half_width=60),)))
    plan, = train.wagons
    plan = replace(plan, outlines=tuple(o for o in plan.outlines if o.part == "body"))
    train = replace(train, wagons=(plan,))
    # plane geometry: pivots on a circle of sqrt(R^2 - p^2/4), middle of the body sqrt(Rp^2 - a^2/4) from its centre
    middle = np.sqrt(RADIUS**2 - 30**2 - 80**2)
    inside, outside = next(inner_throw(train)).value, next(outer_throw(train)).value
    play = play_of(plan, train.description)
    assert play > 0.4 + 0.125, "of axle in bogie and of bogie on its pivot, to either side"
    assert inside == pytest.approx(RADIUS - middle + 30 + play, abs=0.05)
    corner = np.hypot(middle + 30, 255 / 2) - RADIUS + play * 255 / 160
    assert corner - 2.0 < outside < corner + 0.05, "round corners reach a little less"
    assert inside > RADIUS - np.sqrt(RADIUS**2 - 80**2) + 30 + 1.0, "more than the pivots alone would"


def test_rigid_wheelbase_of_a_bogie_is_its_own():
    findings = {f.check: f for f in paper.run(planned("toy")) if f.check in ("wheelbase", "attack-angle")}
    assert findings["wheelbase"].value == 36
    assert findings["attack-angle"].value == pytest.approx(np.degrees(np.arcsin(36 / 640)))
