"""A description's tables: figures from outside that they take or refuse, and what they work out of what they hold."""

import pytest
from test_clashes import full_data
from test_description import TEXT, changed

from partgen.describe.load import examine, loads


def test_what_is_left_out_of_a_table_is_its_default():
    train = loads('title = "bare"\n[track]\nuse = "toy-37.5"\n[wheelset.standard]\nuse = "toy-37.5"\n'
                  '[[wagon]]\nname = "one"\nwheelbase = 64')
    assert train.track.clearance[0].model_dump() == {"low": 0, "high": 200, "half_width": 60}
    assert (train.wagon[0].wheelset, train.wagon[0].plate, train.wagon[0].cups) == ("standard", "", ())
    assert (train.module, train.cup, train.train.order, train.train.maker_note) == ({}, {}, (), "-")
    full = loads(TEXT)
    assert full.module["controller"].turns == ("round",) and full.module["driver"].plug_rooms == ()


# ---- figures from outside

SOUND = [
    # the smallest and the largest gauge of NEM 010 that a maker may own: Z and garden track of 5 inches (MEM)
    ("track", "gauge", 6.5), ("track", "gauge", 127.0),
    # ferrite, N35 and N52 by their makers' data sheets (MEM)
    ("coupler", "remanence", 0.39), ("coupler", "remanence", 1.17), ("coupler", "remanence", 1.48),
    # filament is sold in two diameters (common practice, no source)
    ("printer.slicing", "filament", 1.75), ("printer.slicing", "filament", 2.85),
    # a discharged and a fresh dry cell, a nickel cell, a full lithium cell (Linden's Handbook of Batteries, MEM)
    ("supply", "cell_voltage", 0.9), ("supply", "cell_voltage", 1.65), ("supply", "cell_voltage", 1.2),
    ("supply", "cell_voltage", 4.2),
    # ethanol 0.789, sugar syrup of 65 % 1.32 g/cm3; water at 20 degrees C 1.0 mm2/s, olive oil 90 (textbook, MEM)
    ("cup.espresso", "density", 0.789), ("cup.espresso", "density", 1.32), ("cup.espresso", "viscosity", 1.0),
    ("cup.espresso", "viscosity", 90.0),
    # PLA shrinks by 0.3 %, ABS by up to 0.8 % (MEM); a brass wheel of garden size
    ("printer", "shrink", 0.8), ("wheelset.standard", "mass", 350.0),
]
SLIPS = [
    # inches for millimetres, metres for millimetres, kilograms for grams, a decimal point forgotten, a dash too many
    ("track", "gauge", 1.476), ("track", "min_radius", 0.32), ("train.locomotive", "mass", 0.42),
    ("ride", "speed", 0.25), ("ride", "stop_time", 1000.0), ("coupler", "remanence", 12.0),
    ("cup.espresso", "wall", 30.0), ("printer", "nozzle", 4.0), ("printer", "layer", 2.0), ("ride", "rolling", -0.04),
    ("supply", "cell_voltage", 37.0),
    # honey, 5,000 mm2/s and more, and quicksilver, 13.5 g/cm3 (textbook, MEM), are no drinks
    ("cup.espresso", "viscosity", 5000.0), ("cup.espresso", "density", 13.5),
]


def faulted(table, name, value):
    data = full_data()
    inner = data
    for step in table.split("."):
        inner = inner.setdefault(step, {})
    inner[name] = value
    return any(fault.path == f"{table}.{name}" and "is outside" in fault.message for fault in examine(data)[1])


@pytest.mark.parametrize("table, name, value", SOUND)
def test_what_may_lie_on_the_bench_is_in_range(table, name, value):
    assert not faulted(table, name, value)


@pytest.mark.parametrize("table, name, value", SLIPS)
def test_a_slip_of_the_pen_is_out_of_range(table, name, value):
    assert faulted(table, name, value)


# ---- what tables work out of what they hold

def test_wheel_sizes_by_the_caliper():
    lines = "tread_diameter = 17.3\nflange_diameter = 20.9\naxle_diameter = 3.1\n"
    wheels = loads(changed(("[wheelset.standard]\n", f"[wheelset.standard]\n{lines}"))).wheelset["standard"]
    assert (wheels.tread_radius, wheels.flange_depth) == pytest.approx((8.65, 1.8))
    assert wheels.bearing_diameter == 3.1
    assert wheels.model_copy(update={"ends": "tube", "tube_diameter": 4.2}).bearing_diameter == 4.2


def test_two_lines_are_the_thinnest_wall():
    assert loads(changed(('use = "bed-220"', "line_width = 0.47"))).printer.thinnest_wall == pytest.approx(0.94)


def test_a_cup_is_as_high_as_its_rim_and_as_wide_as_its_belly():
    cup = loads(changed(('use = "tea-glass"', 'use = "tea-glass"\nprofile = [[0, 40], [31, 66], [91, 58]]'))).cup["tea"]
    assert (cup.height, cup.widest) == (91, 66)


BOARD = 'use = "motor-driver"'


def driver(lines):
    return loads(changed((BOARD, f"{BOARD}\n{lines}"))).module["driver"]


def test_room_in_front_of_each_plug():
    board = driver('plugs = ["front", "left", "front"]\nplug_room = 9.5')
    assert [board.room(side) for side in ("front", "left", "back", "top")] == [9.5, 9.5, 0, 0]
    board = driver('plugs = ["front", "left", "front"]\nplug_rooms = [7, 11.5, 13]')
    # two plugs in one face: the longer one counts
    assert [board.room(side) for side in ("front", "left", "back", "top")] == [13, 11.5, 0, 0]
    board = driver('plugs = ["front", "left", "front"]\nplug_rooms = [14, 0, 3]')
    assert [board.room(side) for side in ("front", "left")] == [14, 0]


def test_faces_of_a_box():
    board = driver("length = 43\nwidth = 27\nheight = 12\nlooks_out = []\nplugs = []\nholes = []\nmount = 'lip'")
    assert {side: board.face(side) for side in ("front", "back", "left", "right", "top", "bottom")} == {
        "front": (27, 12), "back": (27, 12), "left": (43, 12), "right": (43, 12), "top": (27, 43), "bottom": (27, 43)}
