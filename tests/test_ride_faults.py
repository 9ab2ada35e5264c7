"""The ride plan's faults: each names the number that mends it; what binds a speed is told by its name."""

import re

import numpy as np
import pytest
from conftest import bare
from loops import CUPS, LOOP, loop
from scipy.integrate import quad

from partgen.describe.load import loads
from partgen.dynamics import ride as rides
from partgen.dynamics.speeds import curve_speeds
from partgen.formulas import stop
from partgen.plan import train as trains


def test_too_short_a_stop_names_the_time_it_takes():
    hasty = loop("speed = 210\nstop_time = 0.2\nstart_time = 1\nramp = 'shaped'\njoint_step = 0.1")
    fault, = hasty.faults
    assert hasty.ramps.fall.time > 0.2
    named = float(re.search(r"it takes ([\d.]+) s", fault)[1])
    assert not loop(f"speed = 210\nstop_time = {named + 0.01}\nstart_time = 1\nramp = 'shaped'\n"
                    "joint_step = 0.1").faults


def test_too_full_a_cup_names_the_depth_that_stays_in():
    full = bare(track=LOOP, wagon=CUPS).replace("fill = 40", "fill = 57")
    *_, fault = rides.resolve(trains.resolve(loads(full))).faults
    named = float(re.search(r"fill ([\d.]+) mm at most", fault)[1])
    mended = full.replace("fill = 57", f"fill = {named}")
    assert not rides.resolve(trains.resolve(loads(mended))).faults


def test_too_coarse_steps_name_the_sample_time_that_does():
    coarse = loop("speed = 270\nsample_time = 0.25\njoint_step = 0")
    fault, = coarse.faults
    named = float(re.search(r"sample_time to ([\d.]+) s", fault)[1])
    assert not loop(f"speed = 270\nsample_time = {named}\njoint_step = 0").faults
    # jumps of speed by hand: each sets every undamped mode swinging, with v omega on top of what is there
    liquid, fall = coarse.cups[0].liquid, coarse.ramps.fall
    for step in (0.25, named, 0.013):
        jumps = 270 * np.diff(np.concatenate([[0], fall.steps(step), [1]]))
        turns = np.exp(1j * np.outer(liquid.modes[0], step * np.arange(len(jumps))))
        left = (np.abs(turns @ jumps) * liquid.modes[0] * liquid.modes[2]).sum()
        assert liquid.residual(*fall.stairs(step, 270.0, 0.0)) == pytest.approx(left, rel=0.05, abs=0.02)
    assert left < 0.03 * liquid.radius * fall.hardest * 270 / 9806.65     # steps of 13 ms: as good as the line


def test_steps_that_add_a_fifth_to_a_ramp_of_a_full_cup_are_called_too_coarse():
    """The ramp already takes nearly all the room that a full cup has: steps of 0.08 s add more than that."""
    line = bare(track="plan = [{ go = 'straight', length = 9000 }]", wagon=CUPS,
                ride="[ride]\nspeed = 150\nsample_time = 0.08\njoint_step = 0\nramp = 'shaped'\nstop_time = 0.7\n"
                     "start_time = 4").replace("fill = 40", "fill = 53")
    ride = rides.resolve(trains.resolve(loads(line)))
    liquid, fall = ride.cups[0].liquid, ride.ramps.fall
    added = liquid.peak(*fall.stairs(0.08, 150.0, 0.0)) / liquid.peak(*fall.profile(150.0, 0.0))
    assert 1.2 < added < 1.6 and any("shake the drinks" in fault for fault in ride.faults)


def test_speed_that_spills_in_the_curves_is_taken_down_and_named(run, tmp_path):
    fast = loop("speed = 600\nstop_time = 9\nstart_time = 9\ntip_safety = 1")
    curve, = fast.curves
    assert curve.speed == curve.spill < min(curve.tip, 600)
    fault = fast.faults[0]
    assert fault == f"600 mm/s is too fast for a radius of 320 mm: cup spills over {int(curve.spill)} mm/s"
    assert all(cup.climbs <= cup.liquid.freeboard - 3.0 + 1e-9 for cup in fast.cups)
    calm = f"speed = {curve.spill:g}\nstop_time = 9\nstart_time = 9\ntip_safety = 1"
    assert not loop(calm).faults
    file = tmp_path / "fast.toml"
    file.write_text(bare(track=LOOP, wagon=CUPS, ride="[ride]\nspeed = 600\nstop_time = 9\nstart_time = 9"))
    assert run("ride", file).exit_code == 1 and "the plan slows down before curves" in run("ride", file).stdout


@pytest.mark.parametrize(("times", "shape", "way"), [
    ((9, 9), "even", "spills"), ((0.7, 9), "shaped", "needs a longer start"),
    ((9, 0.7), "shaped", "needs a longer stop"), ((0.3, 9), "even", "spills at a start"),
    ((9, 0.3), "even", "spills at a stop")])
def test_what_binds_a_speed_is_told_by_its_name(times, shape, way):
    """Whoever lengthens what is named may run 3 % faster; nothing is named where lengthening both does not help so."""
    def found(start, stop):
        curve, = curve_speeds(trains.resolve(loads(bare(track=LOOP, wagon=CUPS, ride=(
            f"[ride]\njoint_step = 0\nramp = '{shape}'\nspeed = 100\nstart_time = {start}\nstop_time = {stop}")))))
        return curve
    curve = found(*times)
    assert (curve.spills, curve.spill_way) == ("tea", way)
    start, stop = times
    longer = found(start if "stop" in way else 20, stop if "start" in way else 20)
    assert (longer.spill >= 1.03 * curve.spill) is (way != "spills")


def test_power_cut_that_throws_a_drink_over_its_rim_is_said_to_spill():
    for fill, spilt in ((54, {"cut"}), (30, set())):
        ride = rides.resolve(trains.resolve(loads(bare(track=LOOP, wagon=CUPS, ride="[ride]\njoint_step = 0").replace(
            "fill = 40", f"fill = {fill}"))))
        assert {swing.kind for swing in ride.swings if swing.spills} == spilt
        assert {swing.kind for swing in ride.swings if swing.climb > swing.liquid.freeboard} == spilt


def test_what_stands_badly_leaves_no_speed():
    # forty cups in a row on a wheelbase of 64 mm: it tips over an axle as soon as it moves
    many = loop(wagon="cups = [" + ", ".join(['"tea"'] * 40) + "]")
    assert len(many.cups) == 1 and many.curves[0].speed == 0 and many.runs
    assert "no speed is safe on a radius of 320 mm: one stands too badly" in many.faults[0]


def test_train_without_cups_is_planned():
    alone = loop(wagon='modules = ["box"]')
    assert alone.cups == () and alone.curves[0].tip > 400 and alone.curves[0].spills == ""


def test_run_time_is_the_cells_energy_over_the_loads():
    # 2000 mAh * 3.7 V * 0.8 / (5 V * 1 A): the defaults of [supply], worked out by hand
    assert loop().endurance == pytest.approx(2.0 * 3.7 * 0.8 / 5.0 * 3600)


def test_way_under_a_profile_is_its_speed_integrated():
    profile = stop.shaped_stop(400, 1.0, [0.24, 0.2])
    way = quad(lambda t: float(stop.speed_at(*profile, 400, t)), 0, 0.37, epsabs=1e-9)[0]
    assert float(stop.way_at(*profile, 400, 0.37)) == pytest.approx(way, rel=1e-8)
