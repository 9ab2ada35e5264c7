"""Heat and current of modules, and how a figure is marked that rests on defaults."""

import json

import pytest
from conftest import bare, described

from partgen.checks.hangs import hangs_on_defaults
from partgen.checks.on_plan import run as checks
from partgen.describe.load import BY_DEFAULT
from partgen.dynamics.ride import resolve as ridden
from partgen.errors import DescriptionError
from partgen.plan.train import resolve

INSIDE = "modules = ['box', 'box']"
SUPPLY = "[supply]\ncapacity = 5000\ncells = 1\ncell_voltage = 3.7\nefficiency = 0.8\nload_voltage = 5\n"


def vents(heat):
    """Return the vent area asked for [mm2]."""
    train = resolve(described(wagon=INSIDE, module=f"heat = {heat}"))
    finding, = (one for one in checks(train, only={"warm-module"}))
    return finding


def test_vents_follow_the_heat():
    """What the walls do not shed goes through the vents, area by heat (a chimney's draught, crmeng.com): the step of
    two modules from 2 to 3 W asks twice what the step from 2 to 2.5 W does."""
    needs = [vents(heat).limit for heat in (2.0, 2.5, 3.0)]
    assert needs[2] - needs[0] == pytest.approx(2 * (needs[1] - needs[0])) and needs[0] > 0
    assert vents(3.0).verdict == "fail" and "shed 6 W" in vents(3.0).reason
    assert not [one for one in checks(resolve(described(wagon=INSIDE)), only={"warm-module"})], "nothing gets warm"


@pytest.mark.parametrize(("lines", "heat"), [
    ("warm = true", 1.0), ("warm = false", 0.0), ("warm = true\nheat = 3", 3.0)])
def test_the_flag_of_older_files_is_a_watt(lines, heat):
    assert described(wagon=INSIDE, module=lines).module["box"].heat == heat


def test_a_flag_that_is_none_is_a_fault():
    with pytest.raises(DescriptionError) as caught:
        described(wagon=INSIDE, module="warm = 3")
    assert caught.value.faults[0].path == "module.box.warm"


def test_currents_of_modules_stand_for_the_supplys():
    """5000 mAh at 3.7 V and 80 % are 14.8 Wh; two modules of 300 mA at 5 V take 3 W: 4.93 h."""
    given = described(wagon=INSIDE, module="current = 300", ride=SUPPLY + "load_current = 1")
    assert given.load_current == pytest.approx(0.6)
    assert ridden(resolve(given)).endurance == pytest.approx(14.8 / 3 * 3600)
    without = described(wagon=INSIDE, ride=SUPPLY + "load_current = 1")
    assert ridden(resolve(without)).endurance == pytest.approx(14.8 / 5 * 3600)


@pytest.mark.parametrize(("board", "eye", "takes"), [
    (300, 20, 0.32), (None, 20, 1.0), (1700, None, 1.7), (None, None, 1.0), (300, 0, 0.3), (0, 0, 1.0)])
def test_a_current_that_is_not_given_is_not_none(board, eye, takes):
    """A sensor's 20 mA beside a board that gives none is not all that the battery feeds; a battery feeds itself."""
    current = ["" if one is None else f"current = {one}\n" for one in (board, eye)]
    modules = (f"{current[0]}[module.eye]\nlength = 20\nwidth = 12\nheight = 8\nmass = 4\n{current[1]}"
               "[module.bank]\nlength = 20\nwidth = 12\nheight = 8\nmass = 40\nbattery = true")
    given = described(wagon="modules = ['box', 'eye', 'bank']", module=modules, ride=SUPPLY + "load_current = 1")
    assert given.load_current == pytest.approx(takes)


def test_currents_of_all_stand_for_the_supplys_whatever_their_sum():
    """Exactly as much as the supply's default, and more than it of one module alone while the other's is not known."""
    for first, second, told in (("current = 500", "current = 500", []),
                                ("current = 1200", "", ["supply.load_current"])):
        modules = f"{first}\n[module.eye]\nlength = 20\nwidth = 12\nheight = 8\nmass = 4\n{second}"
        given = described(wagon="modules = ['box', 'eye']", module=modules, ride=SUPPLY)
        assert hangs_on_defaults(given, "run_time") == told


def test_markers_by_defaults_say_so(run, tmp_path):
    file = tmp_path / "train.toml"
    stop = "plan = [{ go = 'straight', length = 2000 }]\nstop = [{ name = 'table', station = 1500 }]"
    for ride, left in (("", ["ride.sample_time"]), ("[ride]\nsample_time = 0.02", [])):
        file.write_text(bare(track=stop, ride=ride))
        told = json.loads(run("ride", file, "--json").stdout)["marker_defaults"]
        assert [path for path in told if path.startswith("ride")] == left
        assert ("where to brake, along the plan *" in run("ride", file).stdout) is bool(told)


def test_a_run_time_by_defaults_says_so(run, tmp_path):
    file = tmp_path / "train.toml"
    for ride, module, left in (("", "", 6), (SUPPLY, "", 1), (SUPPLY, "current = 300", 0)):
        text = bare(wagon=INSIDE, ride=ride, module=module)
        file.write_text(text)
        said = json.loads(run("ride", file, "--json").stdout)["run_time_defaults"]
        assert said == hangs_on_defaults(
            described(wagon=INSIDE, ride=ride, module=module), "run_time") and len(said) == left
        assert (BY_DEFAULT in " ".join(run("ride", file).stdout.split())) is bool(left)


def test_where_flanges_never_bind_no_limit_is_told(run, tmp_path):
    file = tmp_path / "train.toml"
    for wheels, free in (("back_to_back = 30.3\nflange_thickness = 1.2", True), ("", False)):
        file.write_text(bare(wheelset=wheels))
        row = next(line for line in run("check", file).stdout.splitlines() if line.startswith("wheelbase"))
        assert ("no limit" in row) is free, row


def test_speeds_and_marks_by_defaults_say_so(run, tmp_path):
    """Whatever a figure hangs on is listed once, and only where nobody gave it."""
    file = tmp_path / "train.toml"
    given = ("[ride]\nspeed = 200\nbreakaway = 0.1\nwheel_friction = 0.2\nfloor_tilt = 1\njoint_step = 0.1\n"
             "speed_scatter = 5\ngradient = 0\nrolling = 0.04\nsample_time = 0.02\n[train.locomotive]\nlength = 180\n")
    for ride, cup, track in (("", "", ""), (given, "friction = 0.2\nviscosity = 0.3\ndensity = 1", (
            "joint_spacing = 200\nplan = [{ go = 'left', radius = 400, angle = 90 }]"))):
        left = not ride
        file.write_text(bare(wagon="cups = ['tea']", ride=ride, cup=cup, track=track, **{} if left else {
            "printer": "bore_offset = 0.15\nsnap_share = 0.9", "coupler": "height = 12"}))
        told, said = json.loads(run("ride", file, "--json").stdout), " ".join(run("ride", file).stdout.split())
        assert bool(told["speed_defaults"]) is bool(told["fill_defaults"]) is left
        assert ("* from usual values, not measured: " in said) is left and ("speeds *" in said) is left
