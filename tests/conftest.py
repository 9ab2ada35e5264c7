"""What several tests share: the demo's description, wagons made to measure, and the real command line."""

import json
import os
from pathlib import Path
from tempfile import mkdtemp

import pytest
from click.testing import CliRunner
from hypothesis import settings
from hypothesis.internal.conjecture import providers

from partgen import pipeline
from partgen.cli import main
from partgen.describe.load import left_out, load, loads
from partgen.describe.wording import path_text

# The same examples on every run: a red run can be repeated. `--hypothesis-profile=wander` looks further.
settings.register_profile("same", derandomize=True, deadline=None)
settings.register_profile("wander", deadline=None)
settings.load_profile("same")
# Hypothesis also draws numbers that stand in the package's own source, out of whatever modules are loaded by then:
# others when a file runs alone than in the whole run. `test_examples.py` holds that none of them is drawn.
providers.is_local_module_file = lambda path: False

pipeline.TRYING = 0.3       # s that `check` looks for remedies: tests of those give themselves more

os.environ["PARTGEN_CORES"] = "1"           # the tests themselves are at work on all cores
os.environ["PARTGEN_CACHE"] = mkdtemp(prefix="partgen-known-")    # nobody's own answers, kept for the next run

ROOT = Path(__file__).parents[1]
DEMO = ROOT / "presets" / "reading-room.toml"

BARE = """
title = "Test line"
[track]
use = "toy-37.5"
{track}
[wheelset.standard]
use = "toy-37.5"
{wheelset}
[coupler]
use = "magnet-6x3"
{coupler}
[printer]
use = "bed-220"
{printer}
{ride}
[module.box]
length = 60
width = 30
height = 18
mass = 40
{module}
[cup.tea]
profile = [[0, 44], [60, 58]]
mass = 120
wall = 2.5
fill = 40
{cup}
[[wagon]]
name = "one"
wheelbase = 64
{wagon}
{supply}
{cable}
"""
TABLES = ("track", "wheelset", "coupler", "printer", "ride", "module", "cup", "wagon")
CABLE = "[[cable]]\nfrom = 'one.box'\nto = 'locomotive.motor'\n"


def bare(**lines):
    """Return TOML of a one-wagon train; each keyword adds lines to that table, `cable` a whole one from wagon to motor.
    """
    upright = "" if "flange_angle" in lines.get("wheelset", "") else "flange_angle = 90\n"
    return BARE.format(**{table: lines.get(table, "") for table in TABLES} | {
        "wheelset": upright + lines.get("wheelset", ""), "cable": CABLE + lines["cable"] if "cable" in lines else "",
        "supply": f"[supply]\n{lines['supply']}" if "supply" in lines else ""})


def described(**lines):
    """Return the Description of a one-wagon train with `lines` added to its tables."""
    return loads(bare(**lines))


def pytest_collection_modifyitems(items):
    """Give a slow test five times as long as `timeout` in pyproject.toml gives any other."""
    for item in items:
        if item.get_closest_marker("slow") and not item.get_closest_marker("timeout"):
            item.add_marker(pytest.mark.timeout(5 * float(item.config.getini("timeout"))))


@pytest.fixture(scope="session")
def demo():
    """The demo train's description."""
    return load(DEMO)


@pytest.fixture
def run():
    """Call the real command line in this process; gives click's result with exit code, stdout and stderr."""
    return lambda *words: CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture(scope="module")
def gentle():
    """A loop whose curves are run more slowly than its straights, by a train with a sensor in its wagon's floor."""
    from loops import SEEING, SLOW, loop  # it imports from here
    return loop(SLOW, **SEEING)


@pytest.fixture(scope="module")
def coupon_folder(tmp_path_factory):
    """The folder that `coupon` of the demo wrote, and what it answered."""
    from click.testing import CliRunner

    from partgen.cli import main
    out = tmp_path_factory.mktemp("out")
    done = CliRunner().invoke(main, ["coupon", str(DEMO), "-o", str(out), "--json"])
    assert done.exit_code == 0, done.output
    return out, json.loads(done.stdout)


def defaults_used(description):
    """Return the values that nobody gave, neither file nor preset, by path ("track.rail_head")."""
    return {path_text(*steps): getattr(table, str(steps[-1])) for steps, table in left_out(description)}
