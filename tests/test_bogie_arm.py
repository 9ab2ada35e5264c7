"""Couplers on bogies: the arm that carries one, what it does for a long wagon, and its solids as they swing."""

from itertools import combinations

import numpy as np
import pytest
from bogies import TRAINS, planned, wheelsets
from conftest import bare
from gear_solids import TOUCH, overlap, sound, stood

from partgen import parts
from partgen.checks import on_plan
from partgen.describe.load import loads
from partgen.dynamics.pull import axle_asides, pulls
from partgen.dynamics.survey import pairs
from partgen.errors import DescriptionError
from partgen.paper.assembly import steps
from partgen.plan.fasteners import drawbar_screws
from partgen.plan.train import resolve
from partgen.remedies.options import on_bogies
from partgen.solids.mesh import mesh_of

LONG = "length = 260\npivot_spacing = 150\nmodules = ['box']"
REVERSE = "plan = [{go = 'straight', length = 300}, {go = 'left', radius = 320, angle = 90}, " \
          "{go = 'right', radius = 320, angle = 90}, {go = 'straight', length = 300}]"


def long_train(on="bogie", wagons=2):
    """Return a train of 260 mm wagons on gauge 37.5 whose track bends left, and right straight after."""
    one = f"{LONG}\ncoupler_on = '{on}'"
    more = "".join(f"\n[[wagon]]\nname = 'no {place}'\nwheelbase = 34\n{one}" for place in range(2, wagons + 1))
    text = bare(wagon=one + more, track=REVERSE, ride="[train.locomotive]\nmass = 1500")
    return resolve(loads(text.replace("wheelbase = 64", "wheelbase = 34").replace('"bed-220"', '"bed-300"')))


def test_a_long_wagon_goes_through_a_reverse_curve_with_its_couplers_on_its_bogies_only():
    """No setting but length and bogies: gap and swing stay as they are left out."""
    failing = [{one.check for one in on_plan.run(long_train(on)) if one.verdict == "fail"} for on in ("bogie", "body")]
    assert not failing[0] & {"coupler-swing", "body-gap", "wheel-room", "string-line", "coupler-pull", "wheelbase"}
    assert failing[1] >= {"coupler-swing", "body-gap"}


def test_the_drawbar_turns_beyond_the_wheels_and_meets_the_others_in_the_middle_of_the_gap():
    train = long_train()
    plan = train.wagons[0]
    gear, arm = plan.gear, plan.gear.arm
    assert plan.base / 2 + arm.seat.x == pytest.approx(plan.frame.seats[0].x)
    assert plan.over_couplers == pytest.approx(plan.length + train.description.coupler.gap)
    assert arm.seat.x - arm.seat.boss > gear.bogie.axle_x + plan.wheelset.flange_diameter / 2
    assert arm.bottom == pytest.approx(gear.axle_z + gear.bogie.top) and arm.top < gear.frame_bottom - 1
    assert gear.bolsters[0].boss_bottom == pytest.approx(arm.top)
    link = list(pairs(train))[1].link
    assert (link.front_arm, link.rear_arm) == (arm.seat.x, arm.seat.x)
    for one in drawbar_screws(plan):
        assert one.thread >= one.least and one.spare > 0


def test_its_pull_is_counted_where_it_acts():
    """By hand, moments about the inner axle of the bogie: N at c before its middle loads the outer axle, p/2 before
    it, with N (c + p/2)/p; that axle carries half of the bogie's load, the whole bogie counts twice as much."""
    train = long_train()
    plan, forces = train.wagons[0], pulls(train)
    near, far = list(pairs(train))[:2]
    ahead = forces[0] * np.sin(abs(near.coupled.worst_rear_swing.value))
    behind = forces[1] * np.sin(abs(far.coupled.worst_front_swing.value))
    c, p = plan.gear.arm.seat.x, plan.gear.bogie_wheelbase
    outer = (c + p / 2) / p
    assert axle_asides(train, forces)[0] == pytest.approx((2 * ahead * outer, 2 * behind * outer))


def test_two_axles_carry_none_and_bogies_are_tried_with_them():
    with pytest.raises(DescriptionError, match="coupler_on"):
        loads(bare(wagon="coupler_on = 'bogie'"))
    train = long_train("body")
    finding = next(one for one in on_plan.run(train) if one.check == "coupler-swing" and one.verdict == "fail"
                   and len(one.subject.wagons) == 2)
    moves = list(on_bogies(finding, train))
    assert moves[0] == ((("wagon", 0, "coupler_on"), "bogie"),) and len(moves[2]) == 2
    stiff = resolve(loads(bare(wagon="length = 150")))
    swung = next(one for one in on_plan.every(stiff) if one.check == "coupler-swing")
    assert all(dict(move)["wagon", 0, "coupler_on"] == "bogie" and ("wagon", 0, "pivot_spacing") in dict(move)
               for move in on_bogies(swung, stiff)) and list(on_bogies(swung, stiff))


def test_its_step_says_how_it_lies():
    train = long_train(wagons=1)
    step = next(step for step in steps(train) if "Bogies under the frame" in step.title)
    assert "ribs lie in the bogie's grooves" in step.text and "coupler-arm" in step.new
    assert "coupler-arm" not in [name for one in steps(resolve(loads(bare()))) for name in one.new]


@pytest.mark.slow
@pytest.mark.parametrize("train", TRAINS)
def test_arm_bogie_and_drawbar_swing_free_of_frame_wheels_and_each_other(train):
    """At the bogie's largest swing either way, the drawbar at its stops, the solids as they are drawn; and pitched over
    the pad's edge as far as the rear bogie may roll."""
    described = planned(train, coupler_on="bogie")
    plan = described.wagons[0]
    gear, made = plan.gear, {}
    for item in plan.items:
        if item.part in ("bogie", "frame", "coupler", "coupler-arm") and item.part not in made:
            shape = parts.build(item.part, item.plan)
            sound(item, shape)
            made[item.part] = mesh_of(shape)
            assert made[item.part].volume == pytest.approx(item.plan.volume, rel=0.07)
            if item.part == "coupler-arm":
                assert made[item.part].extents == pytest.approx(item.plan.size, abs=0.05)
    half, out, height = plan.base / 2, gear.arm.seat.x, plan.coupling.height
    frame, arm, bogie = stood(made["frame"]), stood(made["coupler-arm"]), stood(made["bogie"], z=gear.axle_z)
    assert overlap(arm, bogie) < TOUCH and overlap(arm.translate((0.5, 0, 0)), bogie) > TOUCH     # held by its ribs
    assert overlap(arm.rotate((0, 0, 4)), bogie) > TOUCH
    wheels = [one.translate((-half, 0, 0)) for one in wheelsets(plan, 0.0)]
    for swing in (-described.description.coupler.swing, 0.0, described.description.coupler.swing):
        bar = stood(made["coupler"], z=height).rotate((0, 0, swing)).translate((out, 0, 0))
        under = [arm, bogie, bar, *wheels]
        assert all(overlap(one, other) < TOUCH for one, other in combinations(under, 2))
        for yaw in (-gear.room.angle, 0.0, gear.room.angle):
            assert all(overlap(one.rotate((0, 0, yaw)).translate((half, 0, 0)), frame) < TOUCH for one in under)
    edge, high = gear.bolsters[1].boss, gear.arm.top
    tilt = np.degrees(gear.roll)
    pitched = arm.translate((-edge, 0, -high)).rotate((0, -tilt, 0)).translate((edge, 0, high)).rotate((0, 0, 180))
    assert overlap(pitched.translate((-half, 0, 0)), frame) < TOUCH
    assert overlap(pitched.translate((-half, 0, 1.5)), frame) > TOUCH
