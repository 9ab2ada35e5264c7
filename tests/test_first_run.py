"""The first run put back in: a train that runs otherwise than described is run here, step by step, and its stopwatch's
and ruler's figures give what it was run with; every form that cannot be says where."""

import json
import re
import tomllib
from pathlib import Path

import numpy as np
import pytest
from conftest import DEMO, described
from teas import TEAS

from partgen.describe.load import load
from partgen.describe.run_form import FirstRun, RunForm, form, load_run
from partgen.dynamics import ride as rides
from partgen.dynamics.first_run import corrected
from partgen.errors import RunFormError
from partgen.plan.train import resolve

OVAL = """plan = [{go = 'straight', length = 900}, {go = 'left', radius = 700, angle = 180},
{go = 'straight', length = 900}, {go = 'left', radius = 700, angle = 180}]
closed = true
stop = [{name = 'hatch', station = 800}, {name = 'long table', station = 3700}]"""
LAP = 1800 + 2 * np.pi * 700
SLOWER, SCATTER, LONGER = 0.92, 7.0, 1.62       # what the train really does: 230 mm/s, 7 %, a stop of 1.62 s
SAMPLE = 0.02


def planned(ride="speed = 250\nstop_time = 1.0"):
    """The ride as described, on rails without joints, round easy curves."""
    return rides.resolve(resolve(described(track=OVAL, ride=f"[ride]\n{ride}\njoint_step = 0", wagon=TEAS)))


def braked(speed, marker, rng, time=LONGER):
    """Where the sensor comes to stand [mm] of a train that reads its track every SAMPLE and brakes evenly in `time` [s]
    with the second reading on a marker that begins at `marker` [mm]; moved on in steps of 0.1 ms."""
    at, pace, readings, clock, due = marker - 50.0, speed, 0, 0.0, rng.uniform(0, SAMPLE)
    while pace > 0:
        if clock >= due:
            due += SAMPLE
            readings += at >= marker
        pace -= 1e-4 * speed / time if readings >= 2 else 0.0
        at, clock = at + 1e-4 * pace, clock + 1e-4
    return at


def run(plan, stops, laps=10):
    """The figures of a first run: times of laps [s], distances at each stop [mm]."""
    rng = np.random.default_rng(7)
    speed = SLOWER * 250
    spread = np.concatenate([[-1.0, 1.0], rng.uniform(-0.9, 0.9, laps - 2)]) * SCATTER / 100
    times = LAP / speed * (1 + spread - spread.mean())
    return {"laps": {"times": tuple(times.round(2).tolist())}, "stop": tuple(
        {"name": name, "distances": tuple(round(braked(speed, 1000.0, rng) - 1000.0) + 0.0 for _ in range(8))}
        for name in stops)}


def taken(plan, **tables):
    """What a form of these tables makes of a planned ride."""
    return corrected(plan, RunForm(FirstRun.model_validate(tables), {}))


def test_a_run_with_other_figures_gives_them_back():
    plan = planned()
    found = taken(plan, **run(plan, ("hatch", "long table")))
    values = {one.path: (one.was, one.value) for one in found.values}
    assert values["ride.speed"][0] == 250 and values["ride.speed"][1] == pytest.approx(230, rel=0.001)
    assert values["ride.speed_scatter"] == (5.0, pytest.approx(SCATTER, abs=0.11)), "half of longest less shortest"
    assert values["ride.stop_time"] == (1.0, pytest.approx(LONGER, rel=0.01))
    assert found.edits == found.values and found.ride.speed == pytest.approx(230, rel=0.001)


@pytest.mark.parametrize("stops", [("hatch", "long table"), ("",)])
def test_markers_laid_anew_stop_the_train_at_its_place(stops):
    plan = planned()
    found = taken(plan, **run(plan, stops))
    rng = np.random.default_rng(3)
    for old, new, stop in zip(plan.markers, found.markers, (3700.0, 800.0), strict=True):
        assert (new.stop, new.was) == (old.stop, old.begins) and new.by == pytest.approx(new.begins - old.begins)
        stood = [braked(230.0, new.begins, rng) + plan.sensor.behind for _ in range(20)]
        assert stop - 9 < min(stood) and max(stood) < stop + 1, "early by a reading or two at most, hardly beyond"
        assert braked(230.0, old.begins, rng) + plan.sensor.behind > stop + 40, "as it lay the train ran on"


def test_one_stop_measured_moves_all_markers_by_the_time_that_it_took():
    plan = planned()
    found = taken(plan, **run(plan, ("hatch",)))
    whole = taken(plan, **run(plan, ("hatch", "long table")))
    assert [one.measured for one in found.markers] == [False, True]
    assert [one.begins for one in found.markers] == pytest.approx([one.begins for one in whole.markers], abs=5)


def test_what_was_not_measured_stays():
    plan = planned()
    figures = run(plan, ("",))
    laps = taken(plan, laps=figures["laps"])
    assert [one.path for one in laps.values] == ["ride.speed", "ride.speed_scatter"] and not laps.notes
    once = taken(plan, laps={"times": (26.9,)})
    assert [one.path for one in once.values] == ["ride.speed"] and once.notes == ("1 lap tells no scatter: time ten",)
    assert taken(plan, laps={"times": (26.9, 26.1)}).notes == ("2 laps hardly tell the scatter: time ten",)
    way = taken(plan, laps={"times": (4.0, 4.0), "way": 1000.0})
    assert [one.value for one in way.values] == [250.0, 0.0], "a measured way of one's own, and no scatter at all"
    assert [one.path for one in way.edits] == ["ride.speed_scatter"]


def test_a_shaped_stop_that_takes_what_it_was_planned_to_stays_as_wished():
    plan = planned("speed = 250\nstop_time = 0.2\nramp = 'shaped'")
    ramp, (marker, _) = plan.ramps.fall, plan.markers
    assert ramp.time > 0.24, "longer than wished"
    seen = marker.way + 1.5 * SAMPLE * marker.speed
    same, longer = (taken(plan, stop=({"distances": (times * seen,)},)) for times in (1.0, 1.5))
    assert same.edits == () and [one.begins for one in same.markers] == pytest.approx(
        [one.begins for one in plan.markers]), "the latest reading is half a sample after the mean one"
    assert longer.values[0].value > 1.4 * ramp.time


def test_rises_are_held_against_likely_and_highest():
    plan = planned()
    cup, = plan.cups
    seen = {"likely": 0.9 * cup.likely, "within": (cup.likely + cup.climbs) / 2, "over": 1.1 * cup.climbs}
    for verdict, rise in seen.items():
        found = taken(plan, rise=({"cup": "tea", "seen": rise},))
        told, = found.rises
        assert (told.likely, told.highest, told.verdict) == (cup.likely, cup.climbs, verdict)
        assert found.holds == (verdict != "over" and not found.ride.faults)


# ---- the form

CUPS, STOPS = ("tea", "espresso"), ("hatch", "long table")
BLANKS = form('Two\n"lines"', STOPS, CUPS, closed=True)


def test_the_form_asks_for_what_is_there_and_says_how():
    values = tomllib.loads(BLANKS)
    assert values == {"laps": {"times": []}, "stop": [{"name": name, "distances": []} for name in STOPS],
                      "rise": [{"cup": name, "seen": 0.0} for name in CUPS]}
    prose = re.sub(r"\s*\n# ?", " ", BLANKS)
    assert "times, in s: time of each lap" in prose and "How: stopwatch" in prose
    assert prose.count("distances, in mm") == prose.count("seen, in mm") == 1
    # Words true on an open line and without a sensor too
    said = " ".join(form("x", STOPS, CUPS, closed=False).replace("#", " ").split())
    assert "on a closed plan 0: one whole lap" in said and "without a sensor from where braking began" in said
    with pytest.raises(RunFormError, match="no such file; `partgen build FILE` writes one, first-run.toml"):
        load_run(Path("/none/first-run.toml"), STOPS, CUPS)
    assert tomllib.loads(form("x", (), (), closed=False)) == {"laps": {"times": [], "way": 0.0}}
    assert max(map(len, BLANKS.splitlines())) <= 120


def read(tmp_path, text):
    file = tmp_path / "first-run.toml"
    file.write_text(text)
    return load_run(file, STOPS, CUPS)


@pytest.mark.parametrize("text, path, line, words", [
    ("[laps]\ntimes = [24.1, -3]", "laps.times[2]", 2,
     "times[2] = -3 s is outside 0 to 3600 s: write what the stopwatch"),
    ("[laps]\nway = -5\ntimes = [3.0]", "laps.way", 2, "way = -5 mm is outside 0 to 200000 mm: a plan has a length"),
    ("[laps]\ntimes = ['long']", "laps.times[1]", 2, "a number in s belongs there"),
    ("[[stop]]\nname = 'hatc'\ndistances = [150]", "stop[1].name", 2, "is no stop of this train; did you mean hatch?"),
    ("[[stop]]\ndistances = [4e4]", "stop[1].distances[1]", 2, "40000 mm is outside 0 to 30000 mm"),
    ("[[stop]]\ndistances = [9]\n[[stop]]\ndistances = [9]", "stop[2]", 3,
     "a table without a name stands there twice: put its figures into one [[stop]]"),
    ("[[rise]]\ncup = 'cocoa'\nseen = 1.0", "rise[1].cup", 2, "is no cup of this train (there are: tea, espresso)"),
    ("[[rise]]\ncup = 'tea'\nseen = 300", "rise[1].seen", 3, "300 mm is outside 0 to 200 mm: no cup is higher"),
    ("[rises]\n", "rises", 1, "did you mean rise?"),
    ("laps = 3", "laps", 1, "a table belongs there"),
    (BLANKS, "", 0, "nothing was measured"),
    ("[laps]\ntimes = 1,5", "first-run.toml", 0, "line 2, column 10"),
])
def test_a_form_that_cannot_be_says_where(tmp_path, text, path, line, words):
    with pytest.raises(RunFormError) as caught:
        read(tmp_path, text)
    told = caught.value.faults
    assert any((one.path, one.line) == (path, line) and words in one.message for one in told), told
    assert caught.value.what == "the first run's form" and caught.value.exit_code == 2


@pytest.mark.parametrize("text, path, words", [
    ("[laps]\ntimes = [0.4, 0.4]", "laps.times",
     "make ride.speed = 1.55e+04 mm/s, outside 10 to 3000 mm/s: were whole laps"),
    ("[laps]\ntimes = [20.0, 40.0]", "laps.times",
     "make ride.speed_scatter = 33.33 %, outside 0 to 20 %: is one of the laps"),
    ("[[stop]]\nname = 'hatch'\ndistances = [3, 4]", "stop[1].distances", "a mean of 3.5 mm makes ride.stop_time = "),
    ("[[stop]]\ndistances = [9000]", "stop[1].distances", "outside 0.1 to 20 s: measure from the marker's edge"),
])
def test_figures_that_no_ride_has_are_refused(tmp_path, text, path, words):
    plan = planned()
    with pytest.raises(RunFormError) as caught:
        corrected(plan, read(tmp_path, text))
    fault, = caught.value.faults
    assert fault.path == path and words in fault.message and fault.line


def test_an_open_line_has_no_laps(tmp_path):
    line = resolve(described(track="plan = [{go = 'straight', length = 3000}]", wagon=TEAS))
    with pytest.raises(RunFormError, match="an open line has no laps: write the way"):
        corrected(rides.resolve(line), read(tmp_path, "[laps]\ntimes = [9.0]"))


# ---- the command

def test_the_command_tells_and_writes(run_demo):
    file, ask = run_demo("[laps]\ntimes = [26.0, 25.2, 26.9]\n[[rise]]\ncup = 'tea'\nseen = 0.5\n")
    said = ask()
    assert "ride.speed" in said.stdout and "speed = " in said.stdout and "under [ride]" in said.stdout
    assert "no higher than is likely" in said.stdout and "3 laps hardly tell" in said.stderr
    assert file.read_text() == DEMO.read_text(), "nothing is written unasked"
    told = json.loads(ask("--json", "--write").stdout)
    speed, scatter = told["values"]
    assert (speed["path"], speed["was"], speed["unit"]) == ("ride.speed", 250.0, "mm/s") and told["written"]
    ride = load(file).ride
    assert (ride.speed, ride.speed_scatter) == (speed["value"], scatter["value"])
    assert "# a lap of 6 m in 24 s" in file.read_text(), "comments stay"
    assert [one["stop"] for one in told["markers"]] and ask("--write").stdout.rstrip().endswith("stays as it is")


@pytest.fixture
def run_demo(run, tmp_path):
    def prepared(text):
        file, measured = tmp_path / "line.toml", tmp_path / "first-run.toml"
        file.write_text(DEMO.read_text())
        measured.write_text(text)
        return file, lambda *more: run("ride", file, "--measured", measured, *more)
    return prepared


def test_the_command_names_what_is_wrong(run, run_demo):
    _, ask = run_demo("[laps]\ntimes = [26.0, 0.0]\n")
    refused = ask()
    assert refused.exit_code == 2 and "the first run's form cannot be used:" in refused.stderr
    assert "laps.times[2] (line 2)" in refused.stderr
    assert run("ride", DEMO, "--write").exit_code == 2
