"""Findings that hang on what nobody measured say so: in data, in the table, and on no more than what moves them."""

import json

import pytest
from conftest import bare, described
from hangs import hanging as found_out

from partgen.checks.hangs import HANGS, hanging, key_of
from partgen.checks.on_plan import PLAN_CHECKS, run
from partgen.cli.show import findings as shown
from partgen.describe.description import KINDS
from partgen.describe.field import inner_table
from partgen.describe.load import usual
from partgen.plan.train import resolve

TEA = "cups = ['tea', 'tea']\nmodules = ['box']"
MUG = "[cup.mug]\nprofile = [[0, 60], [80, 70]]\nmass = 200\nvolume = 90"
OTHER = "[cup.glass]\nprofile = [[0, 32], [52, 41]]\nmass = 55\nwall = 2.1\nfill = 27"
GLASS = f"{TEA}\n[[wagon]]\nname = 'two'\nwheelbase = 64\ncups = ['glass']"


def defaults(check, **lines):
    """By subject: what the findings of a check hang on by default."""
    description = described(**lines)
    return {str(one.subject): set(one.defaults)
            for one in hanging(run(resolve(description), only={check}), description)}


def test_whatever_moves_a_value_is_kept():
    """Every field that a maker measures, moved by as much as it may well be off; the table has it, and would be told to
    lack it."""
    found = found_out(described(wagon=TEA))
    assert {check: more for check, keys in found.items() if (more := keys - set(HANGS.get(check, "").split()))} == {}
    assert {"ride.gradient", "ride.floor_tilt", "cup.fill"} <= found["tip-stop"]
    assert found["twist"] == {"ride.joint_step", "track.twist"}


@pytest.mark.parametrize("check", HANGS)
def test_every_row_is_of_fields_that_there_are(check):
    assert check in PLAN_CHECKS or check == "wall"
    for key in HANGS[check].split():
        kind, *inner, name = key.split(".")
        table = KINDS[kind]
        for step in inner:
            table = inner_table(table.model_fields[step])
        assert name in table.model_fields, key


def test_what_is_given_is_no_default():
    left, given = (defaults("tip-stop", wagon=TEA, ride=ride)["one"] for ride in ("", "[ride]\ngradient = 0"))
    assert left - given == {"ride.gradient"} and {"ride.floor_tilt", "cup.tea.density"} <= given
    full = defaults("spill-curve", wagon="cups = ['mug']", cup=MUG)["one/mug"]
    assert "cup.mug.fill" not in full and "cup.mug.wall" in full, "the volume tells it"
    assert not any(path.startswith("ride.tip_safety") for path in left), "it is chosen, not measured"


def test_what_the_printer_moves_marks_only_a_verdict_within_its_reach():
    """The longest bridge shapes the cells that ballast lies in, by up to a quarter of what they take."""
    for ballast, near in ((10, False), (90, True)):
        told = defaults("ballast", wagon=f"{TEA}\nballast = {ballast}")["one"]
        assert told == ({"printer.bridge"} if near else set())


def test_a_field_that_does_not_apply_is_no_usual_value():
    described_wheels = {ends: {key_of(steps) for steps, _ in usual(described(wheelset=lines))} for ends, lines in (
        ("plain", ""), ("tube", "ends = 'tube'"), ("bearing", "ends = 'bearing'\nprinted = true"))}
    of = {ends: {key.split(".")[1] for key in keys if key.startswith("wheelset.")} & {
        "mass", "tube_diameter", "bearing_outer", "bearing_width"} for ends, keys in described_wheels.items()}
    assert of == {"plain": set(), "tube": {"tube_diameter"}, "bearing": {"bearing_outer", "bearing_width"}}


def test_only_what_a_finding_is_about_is_told():
    cups = defaults("spill-curve", wagon=GLASS, cup=OTHER)
    assert "cup.tea.viscosity" in cups["one/tea"] and "cup.glass.viscosity" not in cups["one/tea"]
    assert "cup.glass.viscosity" in cups["two/glass"] and "cup.tea.viscosity" not in cups["two/glass"]
    light, pulled = (defaults(check, wagon=GLASS, cup=OTHER)["one"] for check in ("axle-load", "string-line"))
    assert "cup.glass.density" not in light and {"cup.glass.density", "cup.tea.density"} <= pulled


def test_a_figure_from_usual_values_is_marked_in_table_and_json(run, tmp_path, capsys):
    file = tmp_path / "train.toml"
    file.write_text(bare(wagon=TEA))
    told = {one["check"]: one["defaults"] for one in json.loads(run("check", file, "--json").stdout)["findings"]}
    assert "ride.gradient" in told["tip-stop"] and told["attack-angle"] == []
    lines = run("check", file).stdout.splitlines()
    rows = {line.split()[0]: line for line in lines if line.split()}
    assert " * >= " in rows["tip-stop"] and " * " not in rows["attack-angle"]
    legend, = (line for line in lines if line.startswith("* from usual values, not measured: "))
    assert len(legend) <= 120 and "more, by --json" in legend
    shown([one for one in PLAN_CHECKS["attack-angle"](resolve(described()))], "none")
    assert "*" not in capsys.readouterr().out
