"""Verdicts on drinks and tipping: the right finding fails first, and what the engine changes makes it pass."""

import re

import numpy as np
import pytest
from conftest import described
from plans import cured
from teas import teas

from partgen.checks import on_plan as paper
from partgen.errors import DescriptionError


def failing(at, only):
    return [finding for finding in paper.run(at, only=only) if finding.verdict == "fail"]


# ---- the right finding fails first, and what the engine changes makes it pass

FAST, HARD = np.arange(200.0, 3000.0, 50.0), 1 / np.arange(0.5, 10.0, 0.25)
TALL = {"profile": ((0.0, 44.0), (120.0, 58.0)), "fill": 20.0}
STEPS = {
    "spill-curve": ("speed", FAST, {"tip_safety": 1.0}, {"fill": 50.0}),
    "tip-curve": ("speed", FAST, {}, TALL),
    "tip-standing": ("floor_tilt", np.arange(1.0, 10.1, 0.5), {}, TALL),
    "spill-stop": ("stop_time", HARD, {"speed": 270.0, "tip_safety": 1.0}, {"fill": 47.0}),
    "tip-stop": ("stop_time", HARD, {"speed": 400.0}, TALL),
}
CALM = {"tip_safety": 1.7, "start_time": 20.0, "speed": 100.0, "stop_time": 10.0, "joint_step": 0.05}
DRINKS = {"axle-load", "tip-curve", "tip-stop", "tip-standing", "cup-hold", "spill-curve", "spill-stop"}


@pytest.mark.parametrize("check", STEPS)
def test_step_by_step_the_right_finding_fails_first_and_a_calmer_ride_is_found(check):
    field, steps, ride, cup = STEPS[check]
    for value in steps:
        ride = {**CALM, **ride, field: float(value)}
        wrong = failing(teas(ride=ride, cup=cup), DRINKS)
        if check in {finding.check for finding in wrong}:
            break
    assert value != steps[0] and wrong, "it holds at first and fails in the end"
    # a stop comes on top of what the curves have left swinging
    assert {finding.check for finding in wrong} == {check} | ({"spill-stop"} if check == "spill-curve" else set())
    told = cured(teas(ride=ride, cup=cup), check)[f"ride.{field}"]
    held = steps[list(steps).index(value) - 1]
    step = {"speed": 1.0, "floor_tilt": 0.5, "stop_time": 0.2}[field]       # of what is told
    assert held - step <= told < value if value > held else value < told <= held + step
    assert not failing(teas(ride={**ride, field: told}, cup=cup), {check})


def test_filling_step_by_step_spills_first_and_the_depth_named_stays_in():
    ride = {**CALM, "speed": 320.0, "stop_time": 1.0}
    for fill in range(20, 57):
        if wrong := failing(teas(ride=ride, cup={"fill": float(fill)}), DRINKS):
            break
    assert fill > 30 and {finding.check for finding in wrong} <= {"spill-curve", "spill-stop"}
    for finding in wrong:
        depth = cured(teas(ride=ride, cup={"fill": float(fill)}), finding.check)["cup.tea.fill"]
        assert depth < fill and not failing(teas(ride=ride, cup={"fill": depth}), {finding.check})
        deeper = failing(teas(ride=ride, cup={"fill": depth + 0.2}), {finding.check})
        assert deeper, "it is the largest depth, to the tenth"


@pytest.mark.parametrize("check, at, path, change", [
    ("coupler-pull", {"coupler": {"remanence": 0.3}}, "coupler.remanence", ("coupler", "remanence", -0.01)),
    ("coupler-pull", {"coupler": {"remanence": 0.3, "magnet_diameter": 2.0}}, "coupler.magnet_diameter",
     ("coupler", "magnet_diameter", -1.0)),
    ("coupler-pull", {"locomotive": {"mass": 2000.0}}, "wagon[1].ballast", ("wagon", "ballast", -5.0)),
    ("adhesion", {"locomotive": {"adhesion": 0.2}}, "train.locomotive.adhesion", ("locomotive", "adhesion", -0.01)),
    ("axle-load", {"wagon": {"wheelbase": 40.0}}, "wagon[1].wheelbase", ("wagon", "wheelbase", -0.1)),
    ("axle-load", {"wagon": {"wheelbase": 47.0}}, "wagon[1].ballast", ("wagon", "ballast", -5.0)),
])
def test_what_is_found_is_the_least_that_passes(check, at, path, change):
    table, field, less = change
    told = cured(teas(**at), check)[path]
    verdicts = [bool(failing(teas(**{**at, table: {**at.get(table, {}), field: told + by}}), {check}))
                for by in (0.0, less)]
    assert verdicts == [False, True]


# ---- bad input

@pytest.mark.parametrize("lines, path, words", [
    ({"ride": "[ride]\nstop_time = 0"}, "ride.stop_time", "outside 0.1 to 20 s"),
    ({"ride": "[ride]\nreserve = -1"}, "ride.reserve", "outside 0 to 30 mm"),
    ({"wagon": f"cups = {['tea'] * 41}"}, "wagon[1].cups", "at most 40"),
    ({"ride": "[cup.odd]\nprofile = [[0, 40], [60, 50]]\nmass = 90\nwall = 2\nfill = 59"}, "cup.odd.fill", "the 58 mm"),
    ({"ride": "[cup.odd]\nprofile = [[0, 40], [60, 7]]\nmass = 90"}, "cup.odd.profile", "outside 8 to 160 mm"),
])
def test_bad_input_is_refused_in_words(lines, path, words):
    with pytest.raises(DescriptionError) as caught:
        described(**lines)
    assert [fault.path for fault in caught.value.faults] == [path] and words in str(caught.value)


def test_a_full_cup_that_narrows_to_its_rim_is_a_finding_whose_only_cure_is_less():
    narrow = {"profile": ((0.0, 40.0), (30.0, 66.0), (60.0, 30.0)), "fill": 57.0}
    wrong = failing(teas(cup=narrow), {"spill-curve", "spill-stop"})
    assert {finding.check for finding in wrong} == {"spill-curve", "spill-stop"}
    for finding in wrong:
        told = cured(teas(cup=narrow), finding.check)
        depth = told["cup.tea.fill"]
        assert "ride.speed" not in told and finding.limit < 0
        assert not failing(teas(cup={**narrow, "fill": depth}), {finding.check})


@pytest.mark.parametrize("cup", [{"viscosity": 1000.0, "fill": 0.1}, {"fill": 0.0}, {"fill": 57.5, "viscosity": 1000.0},
                                 {"profile": ((0.0, 8.0), (250.0, 9.0)), "wall": 3.9, "fill": 200.0}])
@pytest.mark.parametrize("ramp", ["even", "shaped"])
def test_odd_drinks_get_finite_findings(cup, ramp):
    found = paper.run(teas(ride={"speed": 3000.0, "stop_time": 0.1, "ramp": ramp}, cup=cup), only=DRINKS)
    assert found and all(np.isfinite([finding.value, finding.limit]).all() for finding in found)
    assert all(re.search(r"\d", finding.reason) for finding in found if finding.verdict == "fail")
