"""Verdicts on drinks and tipping: the right finding fails first, and its remedy, applied, passes."""

import re

import numpy as np
import pytest
from conftest import described
from msgspec.structs import replace
from teas import teas

from partgen.checks import on_plan as paper
from partgen.checks import tip
from partgen.describe.printer_tables import Printer
from partgen.dynamics import load_states as states
from partgen.dynamics.pull import asides, pulls, pushes
from partgen.dynamics.stability import Stability, in_curves
from partgen.errors import DescriptionError


def failing(at, only):
    return [finding for finding in paper.run(at, only=only) if finding.verdict == "fail"]


# ---- the right finding fails first, and its remedy, applied, passes

FAST, HARD = np.arange(200.0, 3000.0, 50.0), 1 / np.arange(0.5, 10.0, 0.25)
TALL = {"profile": ((0.0, 44.0), (120.0, 58.0)), "fill": 20.0}
STEPS = {
    "spill-curve": ("speed", FAST, {"tip_safety": 1.0}, {"fill": 50.0}),
    "tip-curve": ("speed", FAST, {}, TALL),
    "tip-standing": ("floor_tilt", np.arange(1.0, 10.1, 0.5), {}, TALL),
    "spill-stop": ("stop_time", HARD, {"speed": 270.0, "tip_safety": 1.0}, {"fill": 47.0}),
    "tip-stop": ("stop_time", HARD, {"speed": 400.0}, TALL),
}
CALM = {"tip_safety": 1.7, "start_time": 20.0, "speed": 100.0, "stop_time": 10.0}
DRINKS = {"axle-load", "tip-curve", "tip-stop", "tip-standing", "cup-hold", "spill-curve", "spill-stop"}
ASKED = (("speed", r"run at ([\d.]+) mm/s"), ("floor_tilt", r"level the floor to ([\d.]+) deg"),
         ("start_time", r"ride.start_time to ([\d.]+) s"), ("stop_time", r"ride.stop_time to ([\d.]+) s"))


@pytest.mark.parametrize("check", STEPS)
def test_step_by_step_the_right_finding_fails_first_and_its_remedy_passes(check):
    field, steps, ride, cup = STEPS[check]
    for value in steps:
        ride = {**CALM, **ride, field: float(value)}
        if wrong := failing(teas(ride=ride, cup=cup), DRINKS):
            break
    assert value != steps[0] and wrong, "it holds at first and fails in the end"
    # a stop comes on top of what the curves have left swinging
    assert {finding.check for finding in wrong} == {check} | ({"spill-stop"} if check == "spill-curve" else set())
    asked = {name: float(found[1]) for name, words in ASKED if (found := re.search(words, wrong[0].remedy))}
    assert asked, wrong[0].remedy
    assert not failing(teas(ride={**ride, **asked}, cup=cup), {check}), wrong[0].remedy


def test_filling_step_by_step_spills_first_and_the_depth_named_stays_in():
    ride = {**CALM, "speed": 320.0, "stop_time": 1.0}
    for fill in range(20, 57):
        if wrong := failing(teas(ride=ride, cup={"fill": float(fill)}), DRINKS):
            break
    assert fill > 30 and {finding.check for finding in wrong} <= {"spill-curve", "spill-stop"}
    for finding in wrong:
        depth = float(re.search(r"fill it only ([\d.]+) mm", finding.remedy)[1])
        assert depth < fill and not failing(teas(ride=ride, cup={"fill": depth}), {finding.check})
        deeper = failing(teas(ride=ride, cup={"fill": depth + 0.2}), {finding.check})
        assert deeper, "it is the largest depth, to the tenth"


@pytest.mark.parametrize("check, at, words, table, field", [
    ("coupler-pull", {"coupler": {"remanence": 0.3}}, r"coupler.remanence ([\d.]+) T", "coupler", "remanence"),
    ("coupler-pull", {"coupler": {"remanence": 0.3, "magnet_diameter": 2.0}}, r"magnets ([\d.]+) mm in", "coupler",
     "magnet_diameter"),
    ("coupler-pull", {"locomotive": {"mass": 2000.0}}, r"put (\d+) g into it", None, None),
    ("adhesion", {"locomotive": {"mass": 120.0}}, r"down to ([\d.]+) g", "locomotive", "mass"),
    ("adhesion", {"locomotive": {"adhesion": 0.1}}, r"adhesion of ([\d.]+) ", "locomotive", "adhesion"),
    ("axle-load", {"wagon": {"wheelbase": 40.0}}, r"wheelbase to ([\d.]+) mm", "wagon", "wheelbase"),
])
def test_remedy_applied_passes(check, at, words, table, field):
    finding, *_ = failing(teas(**at), {check})
    asked = float(re.search(words, finding.remedy)[1])
    if table is None:
        assert finding.value * (1 - 0.02) <= finding.limit * (1 + asked / empty_mass(teas())), finding.remedy
        return
    mended = {**at, table: {**at.get(table, {}), field: asked}}
    assert not failing(teas(**mended), {check}), finding.remedy


def empty_mass(at):
    return states.lading(at.wagons[0], Printer()).bare[:, 0].sum()


def test_ballast_named_by_a_remedy_passes_as_a_flat_module():
    ride = {**CALM, "speed": 700.0, "tip_safety": 2.0}
    finding, = failing(teas(ride=ride, cup=TALL), {"tip-curve"})
    weight = float(re.search(r"put (\d+) g of ballast", finding.remedy)[1])
    at = teas(ride=ride, cup=TALL)
    (plan, stands), = in_curves(at)
    row = (weight, 0.0, 0.0, plan.floor_z + tip.BALLAST_HEIGHT)
    # what weighs more pushes and pulls more, too: 1.05 times at most where it is a twentieth of the train
    drawn = {forces[0] * plan.coupling.height: 1.05 * forces[0] * plan.coupling.height
             for forces in (asides(at, pushes(at)), asides(at, pulls(at)))}
    edges = tuple(replace(edge, pull=drawn[edge.pull]) for edge in stands.edges)
    of = replace(stands.of, bare=np.append(stands.of.bare, [row], axis=0))
    assert Stability(of, edges).margin() >= 2.0


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
        depth = float(re.search(r"fill it only ([\d.]+) mm", finding.remedy)[1])
        assert "run at" not in finding.remedy and finding.limit < 0
        assert not failing(teas(cup={**narrow, "fill": depth}), {finding.check})


@pytest.mark.parametrize("cup", [{"viscosity": 1000.0, "fill": 0.1}, {"fill": 0.0}, {"fill": 57.5, "viscosity": 1000.0},
                                 {"profile": ((0.0, 8.0), (250.0, 9.0)), "wall": 3.9, "fill": 200.0}])
@pytest.mark.parametrize("ramp", ["even", "shaped"])
def test_odd_drinks_get_finite_findings(cup, ramp):
    found = paper.run(teas(ride={"speed": 3000.0, "stop_time": 0.1, "ramp": ramp}, cup=cup), only=DRINKS)
    assert found and all(np.isfinite([finding.value, finding.limit]).all() for finding in found)
    assert all(re.search(r"\d", finding.remedy) for finding in found if finding.verdict == "fail")
