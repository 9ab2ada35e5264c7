"""Twisted track: what a wheel lifts by, which wagons it is too much for, and how far bogies roll to follow it.

Marks of the figures: SEEN, read in the source.
"""

import numpy as np
import pytest
from bogies import PLANS, TRAINS, standing
from bogies import described as long_line
from conftest import described
from gear_solids import CLASH, TOUCH, WASHER, overlap, rod, wheels
from hypothesis import given, settings
from hypothesis import strategies as st
from plans import cured
from scipy.optimize import linprog

from partgen import parts
from partgen.checks import on_plan as paper
from partgen.describe.printer_tables import Printer
from partgen.describe.wagon_tables import Wagon
from partgen.formulas import wheel
from partgen.plan.train import resolve
from partgen.solids.mesh import mesh_of
from partgen.solids.overlap import solid

# ---- by formula

X, Y = np.array([1, 1, -1, -1]) / 2, np.array([1, -1, 1, -1]) / 2      # four wheels, by base and spacing


@given(st.floats(0, 0.02), st.floats(20, 400), st.floats(10, 60), st.floats(0, 0.1), st.floats(0, 3))
@settings(max_examples=40)
def test_a_wheel_lifts_by_what_no_plane_through_the_rails_can_be(twist, base, spacing, roll, step):
    """A rigid frame on four points of z = g x y/s, one of them on a step, its rear pair free to roll against it: the
    least sum of gaps that scipy's linear programme finds."""
    x, y = X * base, Y * spacing
    ground = twist * x * y / spacing + step * np.array([1, 0, 0, 0])
    rear = np.array([0, 0, 1, 1])
    frame = np.column_stack([np.ones(4), x, y, rear * y])       # height, pitch, roll, and roll of the rear pair
    found = linprog(frame.sum(axis=0), A_ub=-frame, b_ub=-ground, bounds=[(None, None)] * 3 + [(-roll, roll)])
    least = found.fun - ground.sum()
    assert wheel.lift_on_twist(twist, base, step, roll, spacing) == pytest.approx(least, abs=1e-7)
    asked = wheel.roll_on_twist(twist, base, step, spacing)
    assert wheel.lift_on_twist(twist, base, step, asked, spacing) == pytest.approx(0, abs=1e-12)


@given(st.floats(0, 0.02), st.floats(20, 400), st.floats(10, 60), st.floats(0, 3), st.integers(0, 3))
def test_three_wheels_touch_and_the_fourth_lifts_by_twist_and_step(twist, base, spacing, step, where):
    """The plane through three of four points of the rails, whichever wheel stands on the step and whichever way the
    track twists: where no wheel is sunk into its rail, the fourth is at most so high, and once just so."""
    points, lifts = np.column_stack([np.ones(4), X * base, Y * spacing]), []
    for way in (1, -1):
        ground = way * twist * base * X * Y + step * (np.arange(4) == where)
        for fourth in range(4):
            three = np.arange(4) != fourth
            lifts.append((points @ np.linalg.solve(points[three], ground[three]) - ground)[fourth])
    assert max(lifts) == pytest.approx(wheel.lift_on_twist(twist, base, step), abs=1e-9)


@pytest.mark.parametrize("inches, in_a_thousand", [(3.0, 4.03), (2.0, 2.69)])
def test_twist_of_railways_in_a_thousand(inches, in_a_thousand):
    """SEEN: 49 CFR 213.63, cross level within 62 feet, classes 1 and 3; 1 rad of roll at 1 mm of spacing is 1 mm."""
    gone = 62 * 12 * 25.4
    twist = inches * 25.4 / gone
    assert 1000 * twist == pytest.approx(in_a_thousand, abs=0.01)
    assert wheel.lift_on_twist(twist, gone) == pytest.approx(inches * 25.4)


# ---- as checked

@pytest.mark.parametrize("wagon", [{"wheelbase": 64.0}, {"wheelbase": 30.0, "pivot_spacing": 400.0},
                                   {"wheelbase": 60.0, "pivot_spacing": 300.0}])
def test_track_laid_truer_or_a_shorter_wagon_clears_the_twist(wagon):
    def at(twist, **more):
        description = described(track=f"twist = {twist}")
        one = description.wagon[0].model_copy(update=wagon | more)
        train = resolve(description.model_copy(update={"wagon": (one,)}))
        return train, next(f for f in paper.run(train, only={"twist"}) if f.check == "twist")

    train, finding = at(20)
    told = cured(train, "twist")
    assert finding.verdict == "fail" and any(name in finding.reason for name in wagon)
    for path, value in told.items():
        name = path.rpartition(".")[2]
        assert (at(value) if name == "twist" else at(20, **{name: value}))[1].verdict == "pass"
    if "track.twist" in told:
        assert at(told["track.twist"] + 0.2)[1].verdict == "fail"


@pytest.mark.parametrize("wagon", [{}, {"wheelbase": 40.0, "pivot_spacing": 150.0}])
def test_a_high_step_at_a_joint_lifts_a_wheel_of_either_gear(wagon):
    """2.5 mm over a flange 1.7 mm deep, however short the wheelbase: levelling the joints is what helps."""
    def at(step, joints=""):
        description = described(ride=f"[ride]\njoint_step = {step}", track=joints)
        one = description.wagon[0].model_copy(update=wagon)
        train = resolve(description.model_copy(update={"wagon": (one,)}))
        return train, next(f for f in paper.run(train, only={"twist"}) if f.check == "twist")

    train, finding = at(2.5)
    assert train.wagons[0].wheelset.flange_depth == pytest.approx(1.7) and finding.limit == pytest.approx(0.85)
    assert finding.value == pytest.approx(2.5 + 0.004 * train.wagons[0].wagon.wheelbase) and finding.verdict == "fail"
    assert finding.reason.endswith("with a step of 2.5 mm at a joint of the rails")
    told = cured(train, "twist")
    assert list(told) == ["ride.joint_step"] and at(told["ride.joint_step"])[1].verdict == "pass"
    smooth = at(2.5, "joint_spacing = 0")[1]
    assert smooth.verdict == "pass" and smooth.value == pytest.approx(finding.value - 2.5), "no joints, no step"


# ---- on the solids

@pytest.mark.slow
@pytest.mark.parametrize("train", TRAINS)
def test_rear_bogie_rolls_as_far_as_the_track_asks_and_the_front_one_does_not(train):
    """Turned about the edge of its pad, on the solids: from frame, spigot and washer it stays free."""
    plan, track = PLANS[train], TRAINS[train].track
    asked = (0.004 * plan.base + TRAINS[train].joint_step) / track.gauge
    assert asked <= plan.gear.roll + 1e-9
    frame, angle, hits = standing(train, "frame"), 0.98 * np.degrees(asked), []
    for number, bolster in enumerate(plan.frame.bolsters):
        washer = rod(WASHER[plan.wagon.screw], bolster.spigot_bottom - 0.5, bolster.spigot_bottom, bolster.x)
        for side in (1, -1):
            edge = (-bolster.x, -side * bolster.boss, -bolster.boss_bottom)
            turn = side * angle * (1.0 if number else 1.6)      # the front one touches by a little more at any rate
            bogie = standing(train, "bogie", number).translate(edge).rotate((turn, 0, 0)).translate(
                tuple(-at for at in edge))
            hits.append(overlap(bogie, frame) + overlap(bogie, washer))
    assert min(hits[:2]) > CLASH and max(hits[2:]) < TOUCH


@pytest.mark.slow
@pytest.mark.parametrize("swung", [0.0, 1.0])
def test_a_wide_bogie_rolls_as_far_as_the_twist_takes_it_to(swung):
    """Wide gauge, long wagon: the edge of the bogie's own plate comes up to the frame far beside the pad."""
    plan = resolve(long_line(
        Wagon(name="wide", wheelbase=45, pivot_spacing=500), 100, wheels(30, 34, 3.4, 92, 6.5), radius=1500,
        printer=Printer(bed_x=700, bed_y=700), twist=9.0, rail_height=6.0)).wagons[0]
    items = {item.part: item for item in plan.items}
    frame, bogie = (solid(mesh_of(parts.build(name, items[name].plan))) for name in ("frame", "bogie"))
    rear, roll = plan.gear.bolsters[1], np.degrees(plan.gear.roll)
    assert roll > 2.0
    for side in (1, -1):
        edge = (-rear.x, -side * rear.boss, -rear.boss_bottom)
        turned = bogie.rotate((0, 0, swung * plan.gear.room.angle)).translate((rear.x, 0, plan.gear.axle_z))
        rolled = turned.translate(edge).rotate((side * 0.98 * roll, 0, 0)).translate(tuple(-at for at in edge))
        assert overlap(rolled, frame) < TOUCH
