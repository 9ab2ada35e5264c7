"""The command line as a maker meets it: words, exit codes, signals, and nothing half written."""

import json
import os
import re
import signal
import subprocess
import sys
import time
import tomllib
from pathlib import Path

import click
import pytest
from click.testing import CliRunner
from conftest import DEMO, ROOT, bare
from jsonschema import Draft202012Validator

from partgen.cli.shell import Shell, progress
from partgen.describe.load import load
from partgen.parts.steps.gear import holders
from partgen.plan.train import resolve

KEYS = {"check", "subject", "about", "note", "verdict", "value", "limit", "sense", "unit", "reason", "remedy",
        "remedies", "nearest", "unlimited", "defaults"}


def test_check_of_the_demo_holds(run):
    result = run("check", DEMO)
    assert result.exit_code == 0, result.output
    assert "wheelbase" in result.stdout and " 0 fail" in result.stdout


def test_check_json_keeps_its_contract(run):
    answer = json.loads(run("check", DEMO, "--json").stdout)
    assert set(answer) >= {"title", "findings"}
    assert answer["findings"] and all(set(f) == KEYS for f in answer["findings"])
    for f in answer["findings"]:
        good = f["value"] <= f["limit"] + 1e-9 if f["sense"] == "max" else f["value"] >= f["limit"] - 1e-9
        assert good == (f["verdict"] != "fail")


def test_check_tells_where_travel_gives_no_second_setting(run, tmp_path):
    """Lines of 0.9 mm put the teeth 5.4 mm apart: 4 mm of travel reaches none; 8 mm do, and 0 mm is nothing lost."""
    file = tmp_path / "line.toml"
    for travel, lost in (("", True), ("travel = 8", False), ("travel = 0", False)):
        file.write_text(bare(wagon=travel, printer="nozzle = 0.8\nline_width = 0.9\nlayer = 0.3"))
        said = run("check", file).stdout
        assert ("one: can be clamped at a wheelbase of 64 mm alone, travel = 4 mm is lost: lines so wide put the teeth "
                "5.40 mm apart" in said) == ("no other can be clamped" in said) == lost


def test_check_tells_the_wheelbases_that_can_be_clamped_and_the_steps_the_same(run, tmp_path):
    """Teeth 3 mm apart on either holder; 4 mm of travel is one of them, 8 mm two, 2 mm none; bogies have none."""
    for wagon, clamped in (("", [58, 64, 70]), ("travel = 8", [52, 58, 64, 70, 76]), ("travel = 2", [64]),
                           ("pivot_spacing = 150", [])):
        file = tmp_path / "line.toml"
        file.write_text(bare(wagon=wagon).replace("wheelbase = 64", f"wheelbase = {36 if 'pivot' in wagon else 64}"))
        told = json.loads(run("check", file, "--json").stdout)["wagons"][0]
        assert told["wagon"] == "one" and told["settings"] == clamped
        listed = ", ".join(map(str, clamped))
        said = f"one: can be clamped at a wheelbase of {listed} mm; checked at 64 mm, " in run("check", file).stdout
        plan = resolve(load(file)).wagons[0]
        step = next(holders(plan), None).text if clamped else ""
        assert said == (len(clamped) > 1) == (f"outwards it is {listed} mm" in step)
        assert ("in the middle of their slots, for a wheelbase of 64 mm" in step) == (len(clamped) == 1)
    file.write_text(bare(wagon="travel = 8", track="min_radius = 300"))
    told = json.loads(run("check", file, "--json").stdout)["wagons"][0]
    assert told["settings"] == [52, 58, 64, 70] and [one["wheelbase"] for one in told["barred"]] == [76]
    never = f"76 ({told['barred'][0]['why']})"
    said = run("check", file).stdout
    assert f"one: can be clamped at a wheelbase of 52, 58, 64, 70 mm, not at {never}; checked at 64" in said
    assert f"it is 52, 58, 64, 70, 76 mm, but never clamp them at {never}" in next(
        holders(resolve(load(file)).wagons[0])).text


def test_a_failing_check_exits_1_and_says_by_how_much(run, tmp_path):
    file = tmp_path / "tight.toml"
    file.write_text(bare(track="min_radius = 140"))
    result = run("check", file)
    assert result.exit_code == 1
    assert re.search(r"^attack-angle .* 13\.\d+ +<= +12 deg +fails", result.stdout, re.MULTILINE)
    assert "\nattack-angle of one: " in result.stdout


EIGHT = {
    "track": "gauge = -3\nnonsense = 1", "wheelset": "width = 'six'", "coupler": "swing = nan",
    "printer": "material = 'PLB'", "module": "plug_room = inf", "cup": "hot = 3",
    "wagon": "cups = ['coffee']\n",
}


def test_eight_faults_get_eight_names(run, tmp_path):
    file = tmp_path / "eight.toml"
    file.write_text(bare(**EIGHT))
    result = run("build", file, "-o", tmp_path / "out")
    assert result.exit_code == 2
    assert "8 faults" in result.stderr
    for path in ("track.gauge", "track.nonsense", "wheelset.standard.width", "coupler.swing", "printer.material",
                 "module.box.plug_room", "cup.tea.hot", "wagon[1].cups"):
        told = rf"(?m)^\s*{re.escape(path)}(?: \(line \d+\))?:"
        assert len(re.findall(told, result.stderr)) == 1, path
    assert not (tmp_path / "out").exists()


def unusable(folder):
    """Yield (name, path) of everything that is no description."""
    (folder / "folder.toml").mkdir()
    (folder / "empty.toml").write_text("")
    (folder / "broken.toml").write_text("title = \n")
    (folder / "rubbish.toml").write_bytes(bytes(range(256)) * 16)
    with open(folder / "huge.toml", "wb") as huge:
        huge.truncate(100_000_000)
    for name in ("folder", "empty", "broken", "rubbish", "huge", "missing"):
        yield name, folder / f"{name}.toml"


def test_unusable_files_are_named_and_nothing_is_written(run, tmp_path):
    for name, path in unusable(tmp_path):
        result = run("build", path, "-o", tmp_path / "never")
        assert result.exit_code == 2, name
        assert result.stderr and "Traceback" not in result.stderr and "fault of its own" not in result.stderr, name
        assert not (tmp_path / "never").exists()


def test_faults_as_json(run, tmp_path):
    file = tmp_path / "eight.toml"
    file.write_text(bare(**EIGHT))
    answer = json.loads(run("check", file, "--json").stdout)
    assert len(answer["faults"]) == 8 and all(f["path"] and f["message"] for f in answer["faults"])


@pytest.mark.parametrize("value", ["nan", "inf", "-inf", "-1", "1e300", "true", "'x'", "[]", "{}"])
@pytest.mark.parametrize("line", ["min_radius", "gauge"])
def test_impossible_numbers_are_clear_errors(run, tmp_path, line, value):
    file = tmp_path / "odd.toml"
    file.write_text(bare(track=f"{line} = {value}"))
    result = run("check", file)
    assert result.exit_code == 2 and f"track.{line} (line" in result.stderr


def test_unknown_preset_names_near_ones(run, tmp_path):
    file = tmp_path / "odd.toml"
    file.write_text(bare().replace('"toy-37.5"', '"toy-37"', 1))
    result = run("check", file)
    assert result.exit_code == 2 and "toy-37.5" in result.stderr
    assert run("presets", "toy-37").exit_code == 2


def test_presets_list_and_show(run):
    listing = run("presets")
    assert listing.exit_code == 0 and "gauge-16.5" in listing.stdout
    assert "source" in run("presets", "track/gauge-32").stdout
    assert json.loads(run("presets", "--json").stdout)["presets"]


def test_new_writes_a_file_that_checks_and_never_overwrites(run, tmp_path):
    file = tmp_path / "mine.toml"
    assert run("new", file).exit_code == 0
    assert run("check", file).exit_code == 0
    before = file.read_bytes()
    again = run("new", file)
    assert again.exit_code == 2 and "--overwrite" in again.stderr and file.read_bytes() == before
    assert run("new", tmp_path / "no" / "such" / "place.toml").exit_code == 2
    assert run("new", file, "--from", "reading-room", "--overwrite").exit_code == 0
    assert run("check", file).exit_code == 0


def test_failing_build_writes_nothing(run, tmp_path):
    file = tmp_path / "tight.toml"
    file.write_text(bare(track="min_radius = 140"))
    result = run("build", file, "-o", tmp_path / "out")
    assert result.exit_code == 1 and "nothing written" in result.stdout and not (tmp_path / "out").exists()


def test_out_that_is_a_file_is_refused(run, tmp_path):
    (tmp_path / "out").write_text("precious")
    result = run("build", DEMO, "-o", tmp_path / "out", "--no-pictures")
    assert result.exit_code == 2 and (tmp_path / "out").read_text() == "precious"


def process(*words, **options):
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "1"}
    return subprocess.Popen([sys.executable, "-m", "partgen", *map(str, words)], stdout=subprocess.PIPE,
                            stderr=subprocess.PIPE, text=True, env=environment, **options)


def test_exit_codes_as_a_process(tmp_path):
    file = tmp_path / "tight.toml"
    file.write_text(bare(track="min_radius = 140"))
    children = [process("check", path) for path in (DEMO, file, tmp_path / "missing.toml")]
    said = [child.communicate(timeout=60) for child in children]
    assert [child.returncode for child in children] == [0, 1, 2]
    assert said[0][1] == "" and "Traceback" not in said[2][1]


@pytest.mark.slow
def test_nothing_is_said_after_the_last_line(tmp_path):
    """A library may report at the end of the process what it thinks was lost; that is none of a maker's business."""
    child = process("coupon", DEMO, "-o", tmp_path / "out")
    out, err = child.communicate(timeout=120)
    assert child.returncode == 0 and out.splitlines()[-1].startswith(f"{tmp_path}")
    assert "leak" not in err and "http" not in err


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="there are no pseudo terminals here")
def test_a_terminal_gets_colour_and_a_pipe_the_same_table_uncut():
    def shown(**environment):
        ours, theirs = os.openpty()
        with os.fdopen(theirs, "wb") as end:
            child = subprocess.Popen([sys.executable, "-m", "partgen", "check", str(DEMO)], stdout=end, env={
                **os.environ, "PYTHONPATH": str(ROOT), "TERM": "xterm", "COLUMNS": "120", **environment})
        said = b""
        while chunk := _read(ours):
            said += chunk
        assert child.wait(60) == 0
        return said.decode().replace("\r\n", "\n")

    piped, _ = process("check", DEMO).communicate(timeout=60)
    coloured, plain = shown(), shown(NO_COLOR="1")
    assert "\x1b[32mholds" in coloured and "\x1b[32m" not in plain and "\x1b" not in piped
    bare_text = re.sub(r"\x1b\[[0-9;]*m", "", plain)
    assert [line.rstrip() for line in bare_text.splitlines()] == piped.splitlines()


def _read(descriptor) -> bytes:
    """Return what a terminal still has to say, nothing once its other end is closed."""
    try:
        return os.read(descriptor, 65536)
    except OSError:         # as Linux has it
        return b""


@pytest.mark.slow
@pytest.mark.parametrize("wait", [1.5, 3, 8])
def test_interrupt_ends_with_130_and_leaves_the_old_output(tmp_path, wait, monkeypatch):
    monkeypatch.setenv("PARTGEN_CACHE", "")         # or a build that is kept would be done before
    old = tmp_path / "out" / "reading-room-tea-line"
    old.mkdir(parents=True)
    (old / "kept.txt").write_text("as it was")
    child = process("build", DEMO, "-o", tmp_path / "out")
    time.sleep(wait)
    child.send_signal(signal.SIGINT)
    out, err = child.communicate(timeout=120)
    assert child.returncode == 130, err
    assert "Traceback" not in err
    assert [p.name for p in (tmp_path / "out").rglob("*")] == ["reading-room-tea-line", "kept.txt"]


def test_missing_system_library_is_named(run, monkeypatch, tmp_path):
    """As on a bare Debian, where importing the CAD kernel ends in an ImportError about libGL."""
    import builtins

    from partgen import pipeline
    real = builtins.__import__

    def without_gl(name, *rest, **more):
        if name == "partgen.pipeline" and rest and rest[2] == ("workshop",):
            raise ImportError("libGL.so.1: cannot open shared object file: No such file or directory")
        return real(name, *rest, **more)

    monkeypatch.delitem(sys.modules, "partgen.pipeline.workshop", raising=False)
    monkeypatch.setattr(builtins, "__import__", without_gl)
    result = run("build", DEMO, "-o", tmp_path / "out")
    assert result.exit_code == 3 and "libgl1" in result.stderr and not (tmp_path / "out").exists()
    assert pipeline


def test_paths_in_messages_are_the_makers_own(run, tmp_path):
    result = run("check", Path("nowhere.toml"))
    assert result.exit_code == 2 and "nowhere.toml" in result.stderr


# ---- the schema


@pytest.fixture
def validator(run):
    result = run("schema")
    assert result.exit_code == 0
    Draft202012Validator.check_schema(json.loads(result.stdout))
    return Draft202012Validator(json.loads(result.stdout))


def test_schema_accepts_the_demo(validator):
    assert not list(validator.iter_errors(tomllib.loads(DEMO.read_text(encoding="utf-8"))))


@pytest.mark.parametrize(("place", "value", "told"), [
    (("track", "gauge"), -3, "minimum"),
    (("track", "closed"), "yes", "boolean"),
    (("track", "use"), "gauge-17", "gauge-17"),
    (("printer", "material"), "PLB", "PLA"),
    (("wagon", 0, "wheelbase"), "seventy", "number"),
    (("wagon", 1, "wheelbas"), 70, "wheelbas"),
    (("module", "controller", "length"), None, "None"),
    (("nonsense",), {}, "nonsense"),
])
def test_schema_refuses_a_damaged_demo(validator, place, value, told):
    data = tomllib.loads(DEMO.read_text(encoding="utf-8"))
    table = data
    for key in place[:-1]:
        table = table[key]
    table[place[-1]] = value
    faults = list(validator.iter_errors(data))
    assert len(faults) == 1 and list(faults[0].absolute_path) == list(place[:-1] if place[-1] in (
        "wheelbas", "nonsense") else place)
    assert told in str(faults[0])


# ---- words with brackets


def test_brackets_in_names_are_no_styling(run, tmp_path):
    file = tmp_path / "odd.toml"
    file.write_text(DEMO.read_text(encoding="utf-8").replace("Reading-room tea line", "Tea [bold]line[/]")
                    .replace("window seats", "[red]seats[/]"))
    for command in ("tune", "ride", "check"):
        assert "Tea [bold]line[/]" in run(command, file).stdout, command
    assert "to [red]seats[/]" in run("ride", file).stdout


def test_a_pipe_gets_tables_as_wide_as_they_are(run, monkeypatch, tmp_path):
    monkeypatch.setenv("COLUMNS", "30")
    said = run("ride", DEMO).stdout
    assert "espresso cup  even braking     1.00" in said and "…" not in said


def test_an_unknown_preset_is_no_fault_of_a_description(run):
    said = run("presets", "track/toy-37").stderr
    assert "no preset is called 'track/toy-37'; near it: toy-37.5" in said and "description" not in said
    assert "`partgen presets` lists them all" in run("presets", "xyzzy").stderr


def test_help_says_what_every_command_does_in_one_line(run):
    said = run("--help").stdout
    assert "..." not in said.split("Commands:")[1]
    assert {"build", "check", "coupon", "new", "presets", "ride", "schema", "tune"} <= set(said.split())


@pytest.mark.parametrize("quiet", [True, False])
def test_a_pipe_is_told_each_stage_once(quiet):
    def work():
        with progress(quiet) as tell:
            for share, what in enumerate(("shaping 2 parts: frame", "shaping 2 parts: lid", "checking", "done")):
                tell(what, share / 3)
    done = CliRunner().invoke(Shell(commands={"work": click.Command("work", callback=work)}), ["work"])
    assert done.exit_code == 0 and done.stdout == ""
    assert done.stderr.splitlines() == ([] if quiet else ["shaping 2 parts", "checking"])
