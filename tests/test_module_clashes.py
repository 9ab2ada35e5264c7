"""Modules, cups, wires, plates and plans that cannot be as they are described: just beyond, and just within."""

import pytest
from conftest import bare

from partgen.describe.description import Description
from partgen.describe.load import loads
from partgen.errors import DescriptionError


def faults_of(**lines):
    try:
        loads(bare(**lines))
    except DescriptionError as error:
        return {fault.path: fault.message for fault in error.faults}
    return {}


def face(side, **sizes):
    """A module of 60 x 30 x 18 mm that shows a hole of 10 x 4 mm on one side."""
    sizes = {"width": 10, "height": 4} | sizes
    hole = ", ".join(f"{name} = {value}" for name, value in sizes.items())
    return {"module": f"looks_out = [{{side = '{side}', {hole}}}]"}


def module(lines):
    return {"module": lines}


def wagon(lines):
    return {"wagon": lines}


def track(lines):
    return {"track": lines}


def locomotive(lines):
    return {"ride": f"[train.locomotive]\n{lines}"}


def cup(profile, more="fill = 1"):
    return {"cup": f"[cup.mug]\nmass = 100\nprofile = {profile}\n{more}"}


BOX = "module.box."
CHIP = "\n[module.chip]\nlength = 20\nwidth = 21\nheight = 5\nmass = 3"
PIECE = "plan = [{go = 'left', radius = 330, angle = 45}]\n"
CLASHES = [
    # a face of 30 mm takes a hole of 10 mm up to 10 mm beside its middle; counted either way
    (face("front", aside=10.6), BOX + "looks_out", "a hole on the front that reaches 0.6 mm beyond the face's 30 mm"),
    (face("back", aside=-12.5), BOX + "looks_out", "on the back that reaches 2.5 mm beyond the face's 30 mm"),
    (face("left", width=61), BOX + "looks_out",
     "on the left that reaches 0.5 mm beyond the face's 60 mm: take down its width, or measure its middle again"),
    (face("right", rise=-7.3), BOX + "looks_out", "reaches 0.3 mm beyond the face's 18 mm: take down its height"),
    (face("top", height=63), BOX + "looks_out", "on the top that reaches 1.5 mm beyond the face's 60 mm"),
    (face("bottom", width=31), BOX + "looks_out", "on the bottom that reaches 0.5 mm beyond the face's 30 mm"),
    (module("plugs = ['left']\nlooks_out = [{side = 'left', width = 5, height = 4}]"), BOX + "plugs",
     "plugs and looks_out both name left: a face that looks out stands at the wall"),
    (module("looks_out = [{side = 'back', width = 5, height = 4}, {side = 'front', width = 5, height = 4}]"),
     BOX + "looks_out", "looks_out names back and front, which cannot both stand at a wall: name one"),
    (module("looks_out = [{side = 'left', width = 5, height = 4}, {side = 'right', width = 5, height = 4}]"),
     BOX + "looks_out", "looks_out names left and right"),
    (module("plugs = ['left', 'back']\nplug_rooms = [9]"), BOX + "plug_rooms", "plug_rooms has 1 entries for 2 plugs"),
    (module("plugs = ['left']\nplug_rooms = [80.5]"), BOX + "plug_rooms", "plug_rooms has 80.5 mm, outside 0 to 80 mm"),
    (module("plugs = ['left']\nplug_rooms = [-1]"), BOX + "plug_rooms", "plug_rooms has -1 mm, outside 0 to 80 mm"),
    (face("bottom", shape="'round'"), BOX + "looks_out", "has shape or panel on the bottom, where a window is"),
    (face("top", panel=1.2), BOX + "looks_out", "has shape or panel on the top"),
    (face("left", width=12, height=9, shape="'round'"), BOX + "looks_out", "a round hole 12 mm wide and 9 mm high"),
    (face("left", width=51, shape="'slot'"), BOX + "looks_out", "a hole of 51 mm with a level or round top"),
    (module("dry = true"), BOX + "dry", "dry = true is about a battery's cells: give battery = true too"),
    (module("mount = 'panel'"), BOX + "mount", "mount = 'panel', but nothing in looks_out has a panel"),
    (module("mount = 'bosses'"), BOX + "mount", "mount = 'bosses', but no holes are given"),
    # 30 - 28.8 and 15 - 13.4 mm to the edges, less half of 3 mm
    (module("holes = [[28.8, 0]]"), BOX + "holes", "holes has [28.8, 0] mm, 0.3 mm beyond the edge with its 3 mm"),
    (module("holes = [[0, -13.9]]\nhole = 3.4"), BOX + "holes", "0.6 mm beyond the edge with its 3.4 mm"),
    (module("carries = true\nlooks_out = [{side = 'top', width = 5, height = 4}]"), BOX + "carries",
     "nothing may lie on it as it looks out at the top"),
    (module("carries = true\nplugs = ['top']"), BOX + "carries", "nothing may lie on it as a plug goes in there"),
    (module("carries = true\nheat = 1"), BOX + "carries", "nothing may lie on it as it gets warm"),
    (module("lies_on_top = true\nlooks_out = [{side = 'bottom', width = 5, height = 4}]"), BOX + "lies_on_top",
     "it cannot as it looks down at the track"),
    (module("lies_on_top = true\nmount = 'bosses'\nholes = [[20, 9]]"), BOX + "lies_on_top",
     "it cannot as its screw bosses stand on the floor"),
    ({**face("bottom"), "module": face("bottom")["module"] + "\ncarries = true"}, BOX + "carries",
     "nothing may lie on it as it hangs under the floor"),
    ({"module": face("bottom")["module"] + "\nplugs = ['left', 'top']"}, BOX + "plugs",
     "plugs names left, but a board that looks down hangs in a holder that is open at its top alone"),
    (module("looks_out = [{side = 'bottom', width = 5, height = 4}, {side = 'left', width = 5, height = 4}]"),
     BOX + "looks_out", "looks_out names left, but a board that looks down"),
    (module("head = [12, 8, 10]"), BOX + "head", "head is of what looks down, but nothing does"),
    ({"module": face("bottom")["module"] + "\nhead = [12, 8]"}, BOX + "head",
     "head = [12.0, 8.0] mm is no length, width and height of 2 to 60 mm each"),
    ({"module": face("bottom", width=1)["module"] + "\nhead = [12, 1.9, 8]"}, BOX + "head", "2 to 60 mm each"),
    # the head is 8 mm wide, and what it sees through lies on it
    ({"module": face("bottom", width=9)["module"] + "\nhead = [12, 8, 10]"}, BOX + "looks_out",
     "on the bottom that reaches 0.5 mm beyond the face's 8 mm"),
    (module("lies_on_top = true\nplugs = ['bottom']"), BOX + "lies_on_top", "it cannot as a plug goes in from below"),

    (wagon("modules = ['box']\nwires = [['box', 'chip']]"), "wagon[1].wires", "'chip', which is not in modules"),
    ({"module": CHIP, "wagon": "modules = ['box', 'chip', 'chip']\nwires = [['box', 'chip']]"}, "wagon[1].wires",
     "'chip', of which modules has 2: give each a table of its own"),
    (wagon("modules = ['box']\nwires = [['box', 'box']]"), "wagon[1].wires", "connects 'box' with itself"),
    (wagon("plate = 'tea 2 €'"), "wagon[1].plate", "has '€', which no plate is lettered with: use letters A to Z and"),
    (wagon("plate = '  '"), "wagon[1].plate", "plate = '  ' has no letter"),
    (wagon("lights = 'lamps'"), "wagon[1].lights", "no modules and so no lid"),
    (wagon("inserts = ['tea']"), "wagon[1].inserts", "inserts is about seats, but the wagon has no cups"),
    (wagon("sensor_station = 12.5\nmodules = ['box']"), "wagon[1].sensor_station",
     "sensor_station = 12.5 mm, but none of its modules looks down"),
    ({**face("bottom"), "wagon": "sensor_station = 12.5\nmodules = ['box', 'box']"}, "wagon[1].sensor_station",
     "2 of its modules look down"),

    (track(PIECE + "closed = true\nspacing = 41.5"), "track.spacing", "it is over 42.5 mm"),
    (track("spacing = 245"), "track.spacing", "it is under 245 mm"),
    (track("plan = [{go = 'left', radius = 319, angle = 45}]"), "track.plan[1].radius", "319 mm is tighter than"),
    (track("plan = [{go = 'left', radius = 330, angle = 45, times = 500}, {go = 'straight', length = 9, times = 500},"
           "{go = 'left', radius = 330, angle = 9, times = 500}, {go = 'straight', length = 9, times = 500},"
           "{go = 'straight', length = 9}]"), "track.plan", "plan has 2001 pieces, and one plan holds at most 2000"),
    (track("closed = true"), "track.closed", "closed = true needs a plan"),
    (track("plan = [{go = 'straight'}]"), "track.plan[1].length", "a straight piece needs its length, in mm"),
    (track("plan = [{go = 'straight', length = 9, radius = 400}]"), "track.plan[1].radius", "not go with a straight"),
    (track("plan = [{go = 'straight', length = 9, angle = 4}]"), "track.plan[1].angle", "does not go with a straight"),
    (track("plan = [{go = 'right', angle = 40}]"), "track.plan[1].radius", "a curve needs its radius, in mm"),
    (track("plan = [{go = 'right', radius = 400}]"), "track.plan[1].angle", "a curve needs its angle, in deg"),
    (track("plan = [{go = 'right', radius = 400, angle = 9, length = 30}]"), "track.plan[1].length",
     "length does not go with a curve"),
    (track("clearance = [{low = 30, high = 30, half_width = 50}]"), "track.clearance[1].high", "30 mm is not above"),
    (track("obstacle = [{name = 'x', station = 9, side = 'left', distance = 50, low = 31, high = 31}]"),
     "track.obstacle[1].high", "high = 31 mm is not above low = 31 mm"),
    (locomotive("low = 41\nhigh = 41"), "train.locomotive.high", "high = 41 mm is not above low = 41 mm"),
    (locomotive("length = 85\nwheelbase = 85"), "train.locomotive.wheelbase", "must be shorter than the locomotive"),
    (locomotive("bogie_wheelbase = 54.1"), "train.locomotive.bogie_wheelbase", "it is under 54 mm"),

    (cup("[[0, 44], [60, 4]]"), "cup.mug.profile", "diameter 4 mm at 60 mm, outside 8 to 160 mm"),
    (cup("[[0, 161], [60, 60]]"), "cup.mug.profile", "diameter 161 mm at 0 mm"),
    (cup("[[0, 44], [7, 60]]"), "cup.mug.profile", "ends at 7 mm, outside 8 to 250 mm"),
    (cup("[[0, 44], [60, 58]]", "wall = 2.5\nfill = 57.6"), "cup.mug.fill", "fill = 57.6 mm is over the 57.5 mm"),
    (cup("[[0, 17], [60, 58]]", "wall = 8.5"), "cup.mug.wall", "leaves no inside in a cup 17 mm across"),
    # atan(3.5 / 2.6) = 53.39 deg
    ({"wheelset": "flange_thickness = 2.6\nback_to_back = 31\ntread_diameter = 17\nflange_diameter = 24\n"
                  "flange_angle = 53.3", "track": "rail_height = 9"}, "wheelset.standard.flange_angle",
     "53.3 deg runs the flange to an edge above its tip: at this depth and thickness it takes 54 deg or more"),
]
WITHIN = [
    face("front", aside=10), face("back", aside=-10), face("left", width=60), face("right", rise=-7),
    face("top", height=60), face("bottom", width=30),
    module("looks_out = [{side = 'back', width = 5, height = 4}, {side = 'left', width = 5, height = 4}]"),
    module("plugs = ['left', 'back']\nplug_rooms = [0, 80]"),
    module("holes = [[28.5, -13.5], [-28.5, 13.5]]\nmount = 'bosses'"),
    module("carries = true\nplugs = ['left', 'bottom']\nlooks_out = [{side = 'back', width = 5, height = 4}]"),
    module("lies_on_top = true\nheat = 1\nplugs = ['left', 'top']\n"
           "looks_out = [{side = 'back', width = 5, height = 4}]"),
    {"module": CHIP,
     "wagon": "modules = ['box', 'chip']\nwires = [['box', 'chip'], ['chip', 'box']]\nlights = 'lamps'"},
    {"module": face("bottom", width=8)["module"] + "\nhead = [12, 8, 10]\nlies_on_top = true\nplugs = ['left']"},
    {"module": face("bottom")["module"] + "\nplugs = ['top']"},
    wagon("plate = 'TÈA & co. 2'"), {**face("bottom"), "wagon": "sensor_station = -3\nmodules = ['box']"},
    track("spacing = 42.6"), track("spacing = 244.9"), track("plan = [{go = 'left', radius = 320, angle = 45}]"),
    track("plan = [{go = 'left', radius = 330, angle = 45, times = 500}, {go = 'straight', length = 9, times = 500},"
          "{go = 'left', radius = 330, angle = 9, times = 500}, {go = 'straight', length = 9, times = 500}]"),
    track(PIECE + "closed = true\nstop = [{name = 'x', station = 259}]"),
    track("clearance = [{low = 30, high = 30.1, half_width = 50}]"),
    track("clearance = [{high = 30, half_width = 18.8}]"),
    track("obstacle = [{name = 'x', station = 9, side = 'left', distance = 50, low = 31, high = 31.1}]"),
    locomotive("low = 41\nhigh = 41.1\nlength = 85\nwheelbase = 84.9"), locomotive("bogie_wheelbase = 54"),
    cup("[[0, 8], [60, 160]]", "wall = 2.5\nfill = 57.5"), cup("[[0, 44], [8, 60]]"), cup("[[0, 44], [250, 60]]"),
    cup("[[0, 17.1], [60, 58]]", "wall = 8.5"),
    {"wheelset": "flange_thickness = 2.6\nback_to_back = 31\ntread_diameter = 17\nflange_diameter = 24\n"
                 "flange_angle = 53.4", "track": "rail_height = 9"},
    # as near as can be: 1.2 flanges wide, and as long as a bed of 120 x 160 mm is from corner to corner
    {"wheelset": "width = 4.32\nflange_thickness = 3.6\nback_to_back = 30"},
    {"printer": "bed_x = 120\nbed_y = 160", "wagon": "length = 200"},
    {"wheelset": "tread_diameter = 15\naxle_diameter = 9"}, {"coupler": "magnet_diameter = 5\nheight = 4"},
    {"printer": "nozzle = 0.5\nlayer = 0.4\nline_width = 0.4"}, {"printer": "nozzle = 0.5\nline_width = 1"},
    {"wheelset": "ends = 'tube'\naxle_diameter = 3.1\ntube_diameter = 3.3"}, track("min_radius = 93.75"),
    {"track": "rail_head = 12\ngauge = 36", "wheelset": "back_to_back = 30\nwidth = 4.3"},
    {"track": "clearance = [{high = 200, half_width = 40}]", "wagon": "width = 80"}, wagon("wall = 0.9"),
    wagon("pivot_spacing = 88.4"),
]


def short(lines):
    return " ".join(f"{table}: {text.split(chr(10))[0][:40]}" for table, text in lines.items())


@pytest.mark.parametrize("lines, path, words", CLASHES, ids=[f"{path} {words[:30]}" for _, path, words in CLASHES])
def test_what_cannot_be_is_the_one_fault(lines, path, words):
    found = faults_of(**lines)
    assert set(found) == {path} and words in found[path]


@pytest.mark.parametrize("lines", WITHIN, ids=map(short, WITHIN))
def test_the_last_that_can_be_loads(lines):
    assert faults_of(**lines) == {} and isinstance(loads(bare(**lines)), Description)
