"""Tuning: the ends of the interval are where `check` itself turns, and writing back touches one number only."""

import json
import re

import numpy as np
import pytest
from conftest import DEMO, bare, described
from msgspec.structs import replace
from trains import random_description

from partgen.checks import on_plan as paper
from partgen.describe.edits import Edit, rewritten
from partgen.describe.load import load, loads
from partgen.finding import judge, worst
from partgen.identity import WagonId
from partgen.plan.train import resolve
from partgen.remedies import tune
from partgen.remedies.workbench import failing

LOAD = "modules = ['box']\ncups = ['tea']"
WAGON = f"{LOAD}\n[train.locomotive]\nmass = 900\n[ride]\nspeed = 240"


@pytest.fixture(scope="module")
def tuned():
    return tune.tune_wagon(described(wagon=WAGON), "one")


def verdict(**change):
    description = described(wagon=WAGON)
    wagon = description.wagon[0].model_copy(update=change)
    return worst(paper.run(resolve(description.model_copy(update={"wagon": (wagon,)}))))


def test_ends_are_confirmed_by_check(tuned):
    assert tuned.low < tuned.best < tuned.high
    for end, way, binds in ((tuned.low, -1, tuned.low_binds), (tuned.high, 1, tuned.high_binds)):
        assert verdict(wheelbase=end - way * 0.1) == "pass"
        assert verdict(wheelbase=end + way * 0.1) == "fail"
        assert binds.check in paper.PLAN_CHECKS


def test_best_has_the_largest_smallest_margin(tuned):
    """Against brute force over the interval: every fortieth of it, with the same checks."""
    description = described(wagon=WAGON)
    trials = tune._trials(description, description.wagon[0], "wheelbase")
    values = [*np.linspace(tuned.low, tuned.high, 41), tuned.anew]
    shares = tune.reserves([tune._sample(trials, value) for value in values])
    least = np.nanmin(list(shares.values()), axis=0)
    assert len(shares) > 2 and least[-1] >= least.max() - 0.02


def test_best_is_what_the_holders_can_be_clamped_at(tuned):
    """The frame of the description, its body and all that stands on it kept: one tooth of 3 mm
    either way, but that nearer together the cup spills."""
    assert tuned.settings == (64.0, 70.0) and tuned.best in tuned.settings
    assert [(one.base, one.barred) for one in tuned.left_out][0] == (58.0, "spill-stop fails")
    length = resolve(described(wagon=WAGON)).wagons[0].length
    for base in tuned.settings:
        assert verdict(wheelbase=base, length=length, travel=0.0) == "pass"
        assert abs(base - tuned.anew) >= abs(tuned.best - tuned.anew), "here reserves fall evenly from the best of all"
    tight = tune.tune_wagon(described(wagon=f"travel = 0\n{WAGON}"), "one")
    assert tight.settings == (64.0,) and tight.best == 64.0 and tight.low < tight.anew < tight.high


def test_where_no_setting_holds_the_frame_is_drawn_anew():
    """A track so twisted that no wheelbase over 0.85 mm / 15.5 in a thousand keeps its wheels down."""
    found = tune.tune_wagon(described(wagon=LOAD, track="twist = 15.5\njoint_spacing = 0"), "one")
    assert found.high == pytest.approx(0.85 / 0.0155, abs=0.01) and found.high_binds.check == "twist"
    assert found.low < found.best == found.anew < found.high < 64.0 - 6.0 and not found.settings


class Fence:
    """Trials on a fence: values work from 20 to 90 but from 54 to 66; counts as the real ones do."""

    def __init__(self):
        self.asked = []

    def failing(self, value):
        self.asked.append(value)
        return "fence" if not 20 <= value <= 90 or 54 < value < 66 else None

    def check(self, value, name):
        away = min(value - 20, 90 - value, max(54 - value, value - 66))
        return (judge(name, WagonId("post"), away, 0.0, "min", "mm", "move on"),)

    def findings(self, value):
        return self.check(value, "fence")

    def binding(self, value, name=None):
        return "fence" if self.failing(value) else None

    def fully_judged(self, low, high):
        return []


@pytest.mark.parametrize("first, last, expected", [
    (40.0, 40.0, (20, 54)), (70.0, 70.0, (66, 90)), (30.0, 80.0, (20, 54))])
def test_gap_that_a_stride_jumps_over_ends_the_interval(first, last, expected):
    """The gap of 12 mm is narrower than a stride, and the samples between the ends find it."""
    (low, _), (high, _), samples, _ = tune._interval(Fence(), first, last, 10.0, 200.0)
    assert (low, high) == pytest.approx(expected, abs=0.01)
    assert all(sample.margins["fence"] >= -1e-9 for sample in samples)


@pytest.mark.parametrize("gaps", [[(54.9, 55.1)], [(54.4, 54.9), (55.4, 55.6)]])
def test_best_value_stands_clear_of_every_gap_however_narrow(gaps):
    """The layout of modules jumps as the body grows: midway from 20 to 90 lies 55, where all samples miss the gap."""
    class Gaps(Fence):
        def failing(self, value):
            return "fence" if not 20 <= value <= 90 or any(low < value < high for low, high in gaps) else None

        def check(self, value, name):
            return (judge(name, WagonId("post"), -1.0 if self.failing(value) else min(value - 20, 90 - value), 0.0,
                          "min", "mm", ""),)

    trials = Gaps()
    (low, _), (high, _), _, best = tune._interval(trials, 40.0, 40.0, 10.0, 200.0)
    assert low <= best <= high <= gaps[0][0] + 0.01 and best < high - tune.NEAR
    assert not [value for value in np.linspace(best - 0.5, best + 0.5, 21) if trials.failing(value)]


@pytest.mark.parametrize(("seed", "modules"), [(21, False), (20, True)])
def test_with_every_best_value_in_the_file_no_check_fails_that_held(seed, modules):
    text = random_description(seed, wagons=2, modules=modules)
    description = loads(text)
    tuned = list(tune._together(description, [tune.tune_wagon(description, one.name) for one in description.wagon]))
    edits = [Edit(("wagon", place, one.variable), one.best) for place, one in enumerate(tuned) if one.best is not None]
    assert edits and all(round(edit.value, 2) == edit.value for edit in edits)
    before, after = (failing(paper.run(resolve(loads(one)))) for one in (text, rewritten(text, edits)))
    assert after <= before


def test_a_value_is_told_to_a_tenth_or_finer_where_that_is_too_coarse():
    assert [tune._written(value, 63.41, 63.55) for value in (63.5, 63.4101, 63.549)] == [63.5, 63.5, 63.5]
    assert tune._written(63.43, 63.412, 63.448) == 63.43 and tune._written(63.4121, 63.4121, 63.418) == 63.4121


def test_longest_body_is_where_check_turns(tuned):
    assert verdict(wheelbase=tuned.best, length=tuned.longest_body - 0.1) == "pass"
    assert verdict(wheelbase=tuned.best, length=tuned.longest_body + 0.1) == "fail"


def test_what_is_being_tried_is_told_before_it_is(monkeypatch):
    """Piece by piece, each before its work begins, whether side by side or one after the other."""
    description, done, said = described(wagon='[[wagon]]\nname = "two"\nwheelbase = 64'), [], []
    monkeypatch.setattr(tune, "_do", lambda job: done.append(job[-1]) or len(done))
    monkeypatch.setattr(tune, "_together", lambda described, tuned: tuned)
    tuned, tightest = tune.tune(description, lambda what, share: said.append((what, share, len(done))))
    assert said == [("tightening the curves", 0, 0), ("trying one", 1 / 3, 1), ("trying two", 2 / 3, 2)]
    assert (tightest, *tuned) == (1, 2, 3) and done[1:] == ["one", "two"]


def test_tightest_radius_is_where_check_turns():
    description = described(wagon=WAGON)
    radius, binds = tune.tightest_radius(description)
    for shift, expected in ((0.1, "pass"), (-0.1, "fail")):
        track = description.track.model_copy(update={"min_radius": radius + shift})
        assert worst(paper.run(resolve(description.model_copy(update={"track": track})))) == expected
    assert binds.check in paper.PLAN_CHECKS


def test_how_tight_the_track_could_be_asks_no_plan_to_close():
    """The demo's plan is closed: with tighter curves it would not be, but other straights would close it."""
    description = load(DEMO)
    radius, binds = tune.tightest_radius(description)
    assert description.track.closed and radius < description.track.min_radius - 10
    smooth = description.ride.model_copy(update={"joint_step": 0.0, "reserve": 0.0})
    description = description.model_copy(update={"ride": smooth})
    radius, binds = tune.tightest_radius(description)
    longest = max(wagon.wheelbase for wagon in description.wagon)
    assert (binds.check, binds.value) == ("wheelbase", longest)
    assert binds.limit == pytest.approx(longest, abs=0.01)      # what that radius takes is what the wagons have


def test_nothing_works_is_said(run, tmp_path):
    file = tmp_path / "hopeless.toml"
    file.write_text(bare(track="clearance = [{high = 200, half_width = 20}]"))
    result = run("tune", file)
    assert result.exit_code == 1 and "no wheelbase works" in result.stdout


def test_json_plot_and_write_back(run, tmp_path):
    file = tmp_path / "line.toml"
    file.write_text(bare(wagon=WAGON).replace("wheelbase = 64", "wheelbase = 64   # measured, by eye"))
    before = file.read_text()
    result = run("tune", file, "--json", "--write", "--plot", tmp_path / "plots")
    assert result.exit_code == 0, result.output
    wagon, = json.loads(result.stdout)["wagons"]
    assert {"wagon", "variable", "low", "high", "best", "low_binds", "high_binds", "unit"} <= set(wagon)
    assert load(file).wagon[0].wheelbase == wagon["best"]
    assert re.sub(r"wheelbase = [\d.]+ ", "wheelbase = 64 ", file.read_text()) == before
    assert (tmp_path / "plots" / "one-wheelbase.png").read_bytes().startswith(b"\x89PNG")
    assert "<svg" in (tmp_path / "plots" / "one-wheelbase.svg").read_text()


def test_write_back_adds_a_value_that_was_not_there():
    text = '[[wagon]] # first\nname = "a"\n\n[[wagon]]\nname = "b" # second\n'
    assert rewritten(text, [Edit(("wagon", 1, "wheelbase"), 61.5)]) == text + "wheelbase = 61.5\n"


def test_a_wagon_asked_about_alone_is_judged_the_same():
    """Of a coupling that breaks away and of what stands beside the track, a whole train names the worst wagon only."""
    train = resolve(load(DEMO))
    everything = paper.run(train)
    for plan in train.wagons:
        found = paper.run(replace(train, only=frozenset({plan.name})))
        alone = {one for one in found if one.subject.concerns(plan.name)}
        concerned = {one for one in everything if one.subject.concerns(plan.name)}
        assert len(concerned) > 15 and concerned <= alone
        assert {one.check for one in alone - concerned} <= {"coupler-pull", "obstacle"}
        assert [str(one.subject) for one in found if one.check == "axle-load"] == [plan.name]


def test_a_dollar_sign_in_a_name_is_one(run, tmp_path):
    """The library that draws takes what stands after one for a formula otherwise, and this is none."""
    file = tmp_path / "line.toml"
    file.write_text(bare(wagon=WAGON).replace('name = "one"', 'name = "$5 _{$ Tür"'))
    assert run("tune", file, "--plot", tmp_path / "plots").exit_code == 0
    assert {path.name for path in (tmp_path / "plots").iterdir()} == {"5-tur-wheelbase.png", "5-tur-wheelbase.svg"}
