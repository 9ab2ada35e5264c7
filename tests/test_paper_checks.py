"""Every paper check: one train that it passes, one that it must fail, and a remedy that helps."""

import re

import pytest
from conftest import ROOT, described
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from plans import cures

from partgen.checks import on_plan as paper
from partgen.checks.bed import fit
from partgen.checks.on_solids import SOLID_CHECKS
from partgen.finding import judge, worst
from partgen.identity import WagonId
from partgen.plan.train import resolve

LOOP = "[{go = 'left', radius = 320, angle = 120, times = 6}, {go = 'straight', length = 50}]"
README = ROOT / "README.md"
MUST_FAIL = {
    "track-plan": {"track": f"plan = {LOOP}"},
    "wheel-play": {"wheelset": "back_to_back = 32.1"},
    "wheelbase": {"wagon": "", "track": "min_radius = 200", "wheelset": "flange_angle = 90\nback_to_back = 31.8"},
    "attack-angle": {"track": "min_radius = 140"},
    "twist": {"track": "twist = 20"},
    "inner-throw": {"track": "clearance = [{high = 200, half_width = 32}]\nmin_radius = 200",
                    "wagon": "cups = ['tea']\nwidth = 64"},
    "outer-throw": {"track": "clearance = [{high = 200, half_width = 31}]", "wagon": "length = 200\nwidth = 60"},
    "wheel-room": {"wagon": "length = 90"},
    "sensor-gap": {"wagon": "modules = ['eye']\nsensor_gap = 1", "module":
                   "[module.eye]\nlength = 20\nwidth = 12\nheight = 8\nmass = 4\n"
                   "looks_out = [{side = 'bottom', width = 6, height = 6}]"},
    "module-fit": {"wagon": "modules = ['box', 'box', 'box']\nlength = 140\nwidth = 50"},
    "reach": {"wagon": "modules = ['box', 'box', 'chip', 'chip', 'chip', 'chip']\nlevels = 2\nwidth = 48",
              "module": "carries = true\n[module.chip]\nlength = 20\nwidth = 20\nheight = 5\nmass = 3\n"
                        "lies_on_top = true\nplug_room = 0"},
    "bed": {"printer": "bed_x = 80\nbed_y = 80"},
    "coupler-height": {"coupler": "height = 6"},
    "adaptor": {"ride": "[train.locomotive]\nadaptor = {under = 18, length = 30, width = 30}"},
    "obstacle": {"track": "obstacle = [{name = 'lamp', station = 500, side = 'left', distance = 26}]"},
    "passing": {"track": "spacing = 54"},
    "coupler-swing": {"coupler": "swing = 12"},
    "body-gap": {"coupler": "gap = 6"},
    "coupler-pull": {"coupler": "remanence = 0.2"},
    "adhesion": {"ride": "[train.locomotive]\nadhesion = 0.05"},
    "axle-load": {"wagon": "cups = ['tea', 'tea', 'tea']"},
    "tip-curve": {"wagon": "cups = ['tea']", "ride": "[ride]\nspeed = 1500"},
    "tip-stop": {"wagon": "cups = ['tea']", "ride": "[ride]\nspeed = 1000\nstop_time = 0.15"},
    "tip-standing": {"wagon": "cups = ['tea']", "ride": "[ride]\nfloor_tilt = 10\ntip_safety = 3"},
    "cup-hold": {"wagon": "cups = ['tea']", "ride": "[ride]\nspeed = 3000\nstop_time = 0.1"},
    "handle-room": {"wagon": f"cups = {9 * ['mug']}\ncolumns = 3", "cup": "[cup.mug]\nprofile = [[0, 50], [60, 60]]\n"
                    "mass = 100\nfill = 20\nhandle = true\nhandle_length = 50"},
    "spill-curve": {"wagon": "cups = ['tea']", "ride": "[ride]\nspeed = 900"},
    "spill-stop": {"wagon": "cups = ['tea']", "ride": "[ride]\nspeed = 900\nstop_time = 0.2"},
    "under-clearance": {"track": "rail_height = 2.0"},
    "warm-module": {"module": "heat = 1", "wagon": "modules = ['box', 'box', 'box', 'box']\nwidth = 60"},
    "opening": {"module": "looks_out = [{side = 'left', width = 12, height = 12, panel = 3}]",
                "wagon": "modules = ['box']"},
    "drip-path": {"module": "looks_out = [{side = 'top', width = 6, height = 6}]",
                  "wagon": "modules = ['box']\ncups = ['tea']"},
    "snap-strain": {"printer": "line_width = 0.9\nnozzle = 0.8\nlayer = 0.3",
                    "wagon": "modules = ['box']\ncups = ['tea']\nlength = 65"},
    "snap-force": {"wheelset": "mass = 400"},
    "grip": {"module": "mount = 'bosses'\nholes = [[20, 10]]\nstandoff = 3.0", "wagon": "modules = ['box']"},
    "press-fit": {"wheelset": "printed = true\naxle_diameter = 1.2"},
    "mount-fit": {"module": "mount = 'bosses'\nholes = [[20, 10]]\nhole = 1.5", "wagon": "modules = ['box']"},
    "name-plate": {"wagon": "plate = 'THE LONG READING TABLES'\nlength = 123"},
    "ballast": {"wagon": "ballast = 200"},
    "wire-way": {"wagon": "modules = ['box']", "cable": "plug = [58, 6]"},
    "wire-slack": {"wagon": "modules = ['box']", "cable": "", "coupler": "gap = 60",
                   "ride": "[train.locomotive]\nhigh = 10"},
    "wire-load": {"wagon": "modules = ['box']", "cable": "section = 0.05"},
    "supply": {"wagon": "modules = ['box']", "cable": "", "supply": "current_limit = 2"},
    "string-line": {"wheelset": "flange_angle = 55", "ride": "[ride]\nspeed = 3000\nstart_time = 0.1"},
}
PASSING_TRACK = ("plan = [{go = 'left', radius = 320, angle = 60, times = 6}]\nclosed = true\nspacing = 130\n"
                 "obstacle = [{name = 'lamp', station = 500, side = 'left', distance = 60}]")
WIRED = {"wire-way", "wire-slack", "wire-load", "supply"}


def found(check, **lines):
    """Return what a check finds, of a wagon that is refused as well: one with clips that bend too far is too short."""
    return [f for f in paper.every(resolve(described(**lines))) if f.check == check]


def test_the_readme_tells_of_every_check():
    table = README.read_text(encoding="utf-8").split("## What is checked")[1].split("## ")[0]
    told = {name for row in re.findall(r"^\| (`.*?) \|", table, re.MULTILINE) for name in re.findall("`(.*?)`", row)}
    assert {*paper.PLAN_CHECKS, *SOLID_CHECKS} <= told


@pytest.mark.parametrize("check", MUST_FAIL)
def test_check_fails_where_it_must(check):
    failing = found(check, **MUST_FAIL[check])
    assert worst(failing) == "fail"
    assert all(re.search(r"\d", f.reason) for f in failing if f.verdict == "fail"), "a reason names a number"


@pytest.mark.parametrize("check", paper.PLAN_CHECKS)
def test_every_check_has_an_example_that_it_fails_and_holds_on_a_sound_wagon(check):
    assert check in MUST_FAIL
    high = {"warm-module": "\nheight = 44", "ballast": "\nballast = 40"}.get(check, "")
    sees = check == "sensor-gap"
    smooth = "\njoint_spacing = 0" if check.startswith("spill") else ""     # joints every 200 mm jolt a full cup over
    inside, eye = ("'box', 'eye'", MUST_FAIL[check]["module"]) if sees else ("'box'", "")
    wired = {"cable": "", "supply": "motor_current = 0.5\ncurrent_limit = 0.9"} if check in WIRED else {}
    sound = found(check, **wired, wagon=f"modules = [{inside}]\ncups = ['tea']\nplate = 'tea'{high}",
                  track=PASSING_TRACK + smooth, module=f"heat = 1\n{eye}",
                  cup="handle = true" if check == "handle-room" else "",
                  wheelset="printed = true" if check == "press-fit" else "",
                  ride=MUST_FAIL[check]["ride"].replace("18", "24") if check == "adaptor" else "")
    assert sound and worst(sound) == "pass"


@pytest.mark.parametrize("check, words, tables", [
    ("tip-standing", "it tips over an outer axle by itself, standing already, with",
     {"wagon": f"cups = {6 * ['tea']}\ncolumns = 1"}),
    ("axle-load", "its lighter axle lifts off by itself, beyond the other lies the weight,",
     {"wagon": f"cups = {6 * ['tea']}\ncolumns = 1"}),
    ("coupler-pull", "and it lifts off its rear axle by itself", {"wagon": f"cups = {6 * ['tea']}\ncolumns = 1"})])
def test_what_no_force_is_needed_for_is_said_in_words(check, words, tables):
    below = [one for one in found(check, **tables) if one.verdict == "fail" and min(one.value, one.limit) < 0]
    assert below and all(words in one.reason and " -" not in one.reason for one in below)


@pytest.mark.parametrize("wheelbase, verdict", [(-0.1, "pass"), (0.1, "fail")])
def test_wheelbase_limit_is_where_check_turns(wheelbase, verdict):
    steep = {"wheelset": "flange_angle = 90\nback_to_back = 31.5", "track": "min_radius = 260"}
    limit = found("wheelbase", **steep)[0].limit
    at = described(**steep)
    wagon = at.wagon[0].model_copy(update={"wheelbase": limit + wheelbase})
    train = resolve(at.model_copy(update={"wagon": (wagon,)}))
    finding, = (f for f in paper.run(train) if f.check == "wheelbase")
    assert finding.verdict == verdict
    if verdict == "fail":
        assert "0.10 mm farther apart" in finding.reason


def test_wheelbase_found_is_the_limit():
    finding, = found("wheelbase", **MUST_FAIL["wheelbase"])
    assert finding.limit < 20.4 + 1, "wheels of 20.4 mm would touch"
    wider = MUST_FAIL["wheelbase"] | {"wheelset": "flange_angle = 90\nback_to_back = 31.0"}
    finding, = found("wheelbase", **wider)
    told = [value for edits in cures(resolve(described(**wider)), "wheelbase")
            for path, value in edits if path == "wagon[1].wheelbase"]
    assert 0 <= finding.limit - max(told) < 0.1


def test_refused_wagon_names_the_length_that_helps():
    finding, = found("wheel-room", wagon="length = 90")
    length = float(re.search(r"body ([\d.]+) mm long", finding.reason)[1])
    assert worst(found("wheel-room", wagon=f"length = {length + 0.05}\ntravel = 0")) == "pass"


@given(x=st.floats(1, 400), y=st.floats(1, 400), z=st.floats(1, 400))
@settings(deadline=None)
def test_bed_agrees_with_the_rectangle_in_rectangle_theorem(x, y, z):
    """Carver, W. B., "Solution to Problem E1225", Amer. Math. Monthly 64 (1957) 114-116 (from memory):
    p x q goes into a x b (p >= q, a >= b) when p <= a and q <= b, or p > a, q <= b and
    b >= (2 p q a + (p^2 - q^2) sqrt(p^2 + q^2 - a^2)) / (p^2 + q^2)."""
    class Bed:
        bed_x, bed_y, bed_z = 220.0, 180.0, 200.0
    p, q, a, b = max(x, y), min(x, y), Bed.bed_x, Bed.bed_y
    slanted = p > a and q <= b and b >= (2 * p * q * a + (p * p - q * q) * abs(p * p + q * q - a * a) ** 0.5) / (
        p * p + q * q)
    goes_in = (p <= a and q <= b) or slanted
    finding = fit("part", (x, y, z), Bed)
    near = abs(finding.value) < 1e-9
    assert near or (finding.verdict == "pass") == (goes_in and z <= Bed.bed_z)


def test_judge_keeps_verdict_and_figures_together():
    assert judge("c", WagonId("s"), 1.0, 1.0, "max", "mm", "x").verdict == "pass"
    assert judge("c", WagonId("s"), float("nan"), 1.0, "max", "mm", "x").verdict == "fail"
    assert judge("c", WagonId("s"), 0.95, 1.0, "max", "mm", "x", warn_within=0.1).verdict == "warn"
    close = judge("c", WagonId("s"), 2.0, 1.0, "min", "mm", "x")
    assert close.reason == "" and close.margin == 1.0 and replace(close, value=0.5).margin == -0.5


def test_a_body_is_as_wide_as_makes_it_short_enough_for_the_bed():
    """Four boxes in a row, as wide as one, are longer than the bed; left to itself, the body takes two abreast."""
    printer, wagon = "bed_x = 200\nbed_y = 120", "modules = ['box', 'box', 'box', 'box']"
    for width, verdict in (("\nwidth = 50", "fail"), ("", "pass")):
        bed, = [f for f in found("bed", printer=printer, wagon=wagon + width) if f.subject.concerns("one")]
        assert bed.verdict == verdict
