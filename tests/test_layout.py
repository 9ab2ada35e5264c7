"""Modules in their body: turned as scipy turns them, sound by intervals, refused with a cure that helps."""

import re
from itertools import combinations

import numpy as np
import pytest
from conftest import bare, described
from hypothesis import given, settings
from hypothesis import strategies as st
from plans import cured, cures, steps_of
from scipy.spatial.transform import Rotation

from partgen.checks import on_plan as paper
from partgen.checks.wishes import wanting
from partgen.describe.cargo_tables import Module
from partgen.describe.edits import Edit, rewritten
from partgen.describe.load import loads
from partgen.errors import DescriptionError
from partgen.finding import worst
from partgen.plan.body.orientation import GAP, turns_of
from partgen.plan.train import resolve

CHIP = """
[module.chip]
length = 24
width = 18
height = 7
mass = 5
plugs = ["front"]
plug_room = 6
lies_on_top = true
[module.eye]
length = 32
width = 14
height = 8
mass = 4
looks_out = [{ side = "bottom", width = 10, height = 8, rise = 9, aside = 1 }]
[module.knob]
length = 20
width = 22
height = 15
mass = 6
plugs = ["right"]
plug_room = 8
looks_out = [{ side = "left", width = 14, height = 12, aside = 2, rise = 1 }]
"""


def plan_of(**lines):
    plan, = resolve(described(module=lines.pop("module", "") + CHIP, **lines)).wagons
    return plan


# ---- turns -----------------------------------------------------------------------------------------------

WORDS = {"as measured": (0, 0, 0), "on its left side": (-90, 0, 0), "on its right side": (90, 0, 0),
         "on its front end": (0, 90, 0), "on its back end": (0, -90, 0), "upside down": (180, 0, 0)}
"""Angles [deg] about x, y and z, right hand rule: a module rolled to its left about x, with x forward and y left,
lies on its left side."""


@pytest.mark.parametrize("mount", ["lip", "bosses"])
def test_a_module_is_turned_as_its_words_say(mount):
    module = Module(length=40, width=20, height=10, mass=5, turns=("round", "side", "end", "over"), mount=mount,
                    holes=((15, 5),) if mount == "bosses" else ())
    turns = turns_of(module)
    assert len(turns) == (24 if mount == "lip" else 4)      # a box has 24 ways; bosses keep the board level
    for turn in turns:
        assert np.linalg.det(turn.matrix) == pytest.approx(1)
        tilt, *quarter = turn.name.split(", ")
        if "turned" in tilt:
            tilt, quarter = "as measured", [tilt]
        angle = float(quarter[0].split()[1]) if quarter else 0.0
        expected = Rotation.from_euler("z", angle, degrees=True) * Rotation.from_euler("xyz", WORDS[tilt], degrees=True)
        assert np.array(turn.matrix) == pytest.approx(expected.as_matrix(), abs=1e-12)
        assert np.abs(expected.apply((40, 20, 10))) == pytest.approx(turn.size(module))
    assert turns[0].face("left") == "left"


def test_on_its_left_side_the_left_face_is_below():
    module = Module(length=40, width=20, height=10, mass=5, turns=("side", "end", "over"))
    below = {turn.name: next(side for side in ("left", "right", "front", "back", "top", "bottom")
                             if turn.face(side) == "bottom") for turn in turns_of(module)}
    assert below == {"as measured": "bottom", "on its left side": "left", "on its right side": "right",
                     "on its front end": "front", "on its back end": "back", "upside down": "top"}


# ---- what looks out --------------------------------------------------------------------------------------

def test_an_opening_lies_in_its_wall_where_it_was_measured():
    """The knob's hole: 2 mm towards its front and 1 mm up from the middle of its left face."""
    plan = plan_of(wagon="modules = ['knob', 'box']")
    knob, cutout = plan.layout.placed[0], plan.layout.cutouts[0]
    inside = np.array(plan.body.inside)
    assert cutout.name == "knob" and cutout.wall in ("front", "back", "left", "right")
    turn = Rotation.from_matrix(knob.turn.matrix)
    middle = np.array((knob.x, knob.y, knob.z + 7.5)) + turn.apply((2, 11, 1))
    assert cutout.middle == pytest.approx(middle)
    assert sorted(cutout.size) == [0, 12, 14] and cutout.size[2] == 12
    axis = 0 if cutout.wall in ("front", "back") else 1
    assert inside[axis] / 2 - abs(cutout.middle[axis]) == pytest.approx(0.8, abs=0.06)      # past the foot's fillet
    assert np.sign(cutout.middle[axis]) == (1 if cutout.wall in ("front", "left") else -1)


@pytest.mark.parametrize("station", [None, 0.0, 0.8])
def test_the_sensor_hangs_past_axles_and_wheels(station):
    wish = "" if station is None else f"sensor_station = {station}\n"
    plan = plan_of(wagon=f"modules = ['eye', 'box', 'chip']\nwidth = 58\ntravel = 1\n{wish}")
    assert not plan.layout.misfit and "eye" not in {placed.name for placed in plan.layout.placed}
    one, = plan.hung
    low, high = one.way.x - one.tray.half_x, one.way.x + one.tray.half_x
    for axle in plan.gear.axles:
        reach = plan.gear.travel + plan.wheelset.flange_diameter / 2
        assert high < axle - reach or low > axle + reach, "a wheel can come to it"
    for placed in plan.layout.placed:       # nothing stands where its lead comes up
        assert max(abs(placed.x - one.way.x) - (placed.length + 12) / 2,
                   abs(placed.y - one.way.y) - (placed.width + 6) / 2) > 0.9
    for start, stop in plan.frame.slide.slots:
        assert one.way.x + one.lug.half + 1.6 < start or one.way.x - one.lug.half - 1.6 > stop
    if station is not None:
        assert one.way.x == pytest.approx(station, abs=0.051)


def test_bosses_keep_off_the_heads_of_the_body_screws():
    board = ("[module.board]\nlength = 50\nwidth = 40\nheight = 12\nmass = 20\nmount = 'bosses'\nhole = 3.2\n"
             "holes = [[22, 17], [22, -17], [-22, 17], [-22, -17]]\n")
    plan = plan_of(wagon="modules = ['board', 'board2']", module=board + board.replace("board", "board2"))
    assert len(plan.layout.placed) == 2 and not plan.layout.misfit
    for placed in plan.layout.placed:
        for hole in placed.module.holes:
            x, y, _ = np.array((placed.x, placed.y, 0)) + np.array(placed.turn.matrix) @ (*hole, 0)
            for sx, sy in plan.body.screws:
                apart = max(abs(x - sx), abs(y - sy)) - 3.2 / 2 - 2.0
                assert apart >= plan.body.cone / 2 - 0.06, "a boss stands on a screw"


# ---- fits, or a cure -------------------------------------------------------------------------------------

def misfits(lines):
    return [f for f in paper.run(resolve(loads(lines))) if f.check == "module-fit" and f.verdict == "fail"]


@pytest.mark.parametrize("wagon", [
    "modules = ['box', 'box', 'chip']\nlength = 142\nwidth = 50\n",
    "modules = ['box', 'knob', 'chip']\nwidth = 50\nheight = 18\n",
    "modules = ['box', 'chip', 'chip', 'chip', 'chip', 'knob']\nlength = 134\nwidth = 48\n",
    "modules = ['eye', 'box']\nsensor_station = 33\n",
    "modules = ['box', 'box', 'box', 'knob']\nlength = 140\nwidth = 48\nheight = 21\n",
], ids=["short", "low", "stacks", "station", "everything"])
def test_every_change_that_is_found_makes_it_fit(wagon):
    module = "carries = true\n" + CHIP
    finding, = misfits(bare(wagon=wagon, module=module))
    assert "no room" in finding.reason and finding.value < 0
    told = cures(resolve(loads(bare(wagon=wagon, module=module))), "module-fit")
    assert told, finding.reason
    for edits in told:
        text = bare(wagon=wagon, module=module)
        changed = rewritten(text, [Edit(steps_of(path), value) for path, value in edits])
        assert changed != text and not misfits(changed), edits


def test_one_module_too_many_is_refused_and_leaving_one_out_is_among_what_helps():
    assert not misfits(bare(wagon="modules = ['box', 'box']\nlength = 142\nwidth = 50\n", module=CHIP))
    lines = bare(wagon="modules = ['box', 'box', 'knob']\nlength = 142\nwidth = 50\n", module=CHIP)
    finding, = misfits(lines)
    assert "no room for box, box and knob in a body 138.0 mm long and 46.0 mm wide inside" in finding.reason
    assert "that takes" in finding.reason and "mm of length" in finding.reason
    assert len(cured(resolve(loads(lines)), "module-fit")["wagon[1].modules"]) == 2


def test_a_module_too_large_by_itself_is_named():
    finding, = misfits(bare(wagon="modules = ['box', 'chip']\nheight = 19\n", module=CHIP))
    assert finding.reason.startswith("no room for box even alone in a body")


SIDES = st.integers(5, 60)


@settings(max_examples=12)
@given(st.lists(st.tuples(SIDES, SIDES, st.integers(4, 30), st.sampled_from(["lip", "strap", "tape"]),
                          st.sets(st.sampled_from(["front", "left", "top"]), max_size=2)), min_size=1, max_size=4),
       st.sampled_from([None, 120, 170]), st.sampled_from([None, 50, 64]), st.sampled_from([1, 2]))
def test_random_modules_lie_apart_and_inside_or_a_reason_is_given(sizes, length, width, levels):
    tables = "".join(f"[module.m{k}]\nlength = {a}\nwidth = {b}\nheight = {c}\nmass = 20\nmount = '{mount}'\n"
                     f"plugs = {sorted(plugs)}\nplug_room = 8\ncarries = {str('top' not in plugs).lower()}\n"
                     "lies_on_top = true\n" for k, (a, b, c, mount, plugs) in enumerate(sizes))
    wishes = "".join(f"{key} = {value}\n" for key, value in
                     (("length", length), ("width", width), ("levels", levels)) if value is not None)
    train = resolve(described(module=tables, wagon=f"modules = {[f'm{k}' for k in range(len(sizes))]}\n{wishes}"))
    plan, = train.wagons
    judged = [f for f in paper.run(train) if f.check == "module-fit"]
    assert worst(judged) == ("fail" if any(f.check == "module-fit" for f in wanting(plan)) else "pass")
    if plan.layout.misfit:
        assert re.search(r"\d", judged[0].reason)
        return
    half = np.array(plan.body.inside) / 2
    for placed in plan.layout.placed:
        (x0, x1), (y0, y1), (z0, z1) = placed.box
        assert min(x0 + half[0], half[0] - x1, y0 + half[1], half[1] - y1) >= GAP - 1e-6
        assert z0 >= 0 and z1 <= plan.body.inside[2] - plan.lid.rim.depth - GAP + 1e-6
    for one, other in combinations(plan.layout.placed, 2):
        assert max(max(a[0] - b[1], b[0] - a[1]) for a, b in zip(one.box, other.box, strict=True)) >= GAP - 1e-6


def test_a_module_under_another_is_named():
    finding, = (f for f in paper.run(resolve(described(
        wagon="modules = ['box', 'box', 'chip', 'chip', 'chip', 'chip']\nlevels = 2\nwidth = 48\n",
        module="carries = true\n" + CHIP)))
        if f.check == "reach")
    assert finding.verdict == "fail" and finding.value == 2 and "chip, chip must come out before box" in finding.reason


def test_modules_beside_each_other_are_all_within_reach():
    plan = plan_of(wagon="modules = ['box', 'chip', 'knob']")
    assert all(placed.on is None for placed in plan.layout.placed)
    assert worst([f for f in paper.run(resolve(described(wagon="modules = ['box', 'chip', 'knob']", module=CHIP)))
                  if f.check == "reach"]) == "pass"


@pytest.mark.parametrize("wires, fault", [
    ("[['box', 'chip']]", "is not in modules"), ("[['box', 'box']]", "with itself"),
])
def test_a_wire_joins_two_modules_of_the_wagon(wires, fault):
    with pytest.raises(DescriptionError, match=fault):
        described(wagon=f"modules = ['box']\nwires = {wires}", module=CHIP)


def test_a_station_needs_a_sensor():
    with pytest.raises(DescriptionError, match="none of its modules looks down"):
        described(wagon="modules = ['box']\nsensor_station = 0")


def test_wires_draw_modules_together():
    """Whichever is wired to the middle of five alike lies beside it: 30 mm and a fence of 3.6 mm."""
    block = "[module.{}]\nlength = 30\nwidth = 30\nheight = 10\nmass = 10\nturns = []\n"
    plan = plan_of(module="".join(map(block.format, "abcde")), wagon='modules = ["a", "b", "c", "d", "e"]\nwidth = 51\n'
                   'wires = [["a", "c"], ["c", "e"]]\n')
    at = {placed.name: placed.x for placed in plan.layout.placed}
    assert abs(at["a"] - at["c"]) == pytest.approx(33.6, abs=0.1) == abs(at["e"] - at["c"])


def test_cables_are_counted_from_plug_face_to_plug_face():
    """By each module's rotation: the plug is six tenths of its room, straight out of its face's middle."""
    plan = plan_of(wagon="modules = ['box', 'chip', 'knob', 'eye']\nwires = [['box', 'chip'], ['knob', 'box'], "
                         "['eye', 'chip']]\n", module="plugs = ['back']\nplug_room = 20\n")
    plugs = {"box": ((-30, 0, 0), 12), "chip": ((12, 0, 0), 3.6), "knob": ((0, -11, 0), 4.8), "eye": ((0, 0, 0), 0)}
    leaves = {}
    for one in plan.layout.ends:
        face, long = np.array(plugs[one.name][0], dtype=float), plugs[one.name][1]
        out = face / max(np.abs(face).max(), 1) * long
        leaves[one.name] = np.array((one.x, one.y)) + (one.turn.matrix @ (face + out))[:2]
    runs = [np.abs(leaves[one] - leaves[other]).sum() + plugs[one][1] + plugs[other][1]
            for one, other in (("box", "chip"), ("knob", "box"), ("eye", "chip"))]
    assert plan.layout.runs == pytest.approx(runs)


WIDE_TRACKS = {"clearance": "clearance = [{ low = 0, high = 200, half_width = 50 }]\n", "free": "",
               "second track": "spacing = 96\n",
               "obstacle": "obstacle = [{ name = 'lamp', station = 400, side = 'left', distance = 46 }]\n"}


@pytest.mark.parametrize("beside", WIDE_TRACKS)
@pytest.mark.parametrize("count", [4, 5])
def test_a_body_grows_wider_to_be_short_and_stays_clear_of_all_that_is_beside_it(beside, count):
    """The checks carry it over the whole track, which starts and ends straight and turns both ways."""
    asked = {"track": WIDE_TRACKS[beside], "wagon": f"modules = {['box', 'chip', 'knob', 'box', 'chip'][:count]}\n",
             "module": "plugs = ['front']\n" + CHIP}
    train = resolve(described(**asked))
    narrow, = resolve(described(**{**asked, "wagon": asked["wagon"] + "width = 48\n"})).wagons
    plan, = train.wagons
    assert plan.width > 48.5 and plan.length < narrow.length - 5
    assert not [finding for finding in paper.run(train) if finding.verdict == "fail" and finding.check in (
        "inner-throw", "outer-throw", "passing", "obstacle", "body-gap", "bed", "module-fit", "wheel-room")]


def test_a_module_lies_where_it_shall_and_where_it_cannot_what_is_named_helps():
    wagon = "modules = ['box', 'chip', 'knob']\nat = [['box', 'front'], ['knob', 'left']]\nwidth = 60\n"
    module = "at = 'back'\n" + CHIP.replace("height = 7", "height = 7\nat = 'back'")
    plan = plan_of(wagon=wagon, module="at = 'back'\n")
    at = {placed.name: placed for placed in plan.layout.placed}
    assert at["box"].x > plan.body.inside[0] / 6 - 0.1 and at["knob"].y > 0 and not plan.layout.elsewhere
    short = f"{wagon}length = 84\ntravel = 0\n"
    finding, = misfits(bare(wagon=short, module=module))
    assert "box lies" in finding.reason and finding.value < 0
    longer = float(re.search(r"with ([\d.]+) mm of length", finding.reason)[1]) + 2 * plan.body.wall
    assert not misfits(bare(wagon=short.replace("length = 84", f"length = {longer + 0.1:.1f}"), module=module))


@pytest.mark.parametrize("at, fault", [("[['chip', 'front']]", "is not in modules"),
                                       ("[['box', 'front'], ['box', 'left']]", "2 times")])
def test_a_wish_is_about_one_module_of_the_wagon(at, fault):
    with pytest.raises(DescriptionError, match=fault):
        described(wagon=f"modules = ['box']\nat = {at}", module=CHIP)
