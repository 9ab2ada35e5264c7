"""Screws that fit, and a bill that counts what is there."""

import csv
import json
from io import StringIO

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from wagons import BOARD, FULL, bogie, one

from partgen.paper import running
from partgen.paper.assembly import steps
from partgen.paper.bill import COLUMNS, as_csv, bill, bought, columns, tools
from partgen.plan.fasteners import fasteners
from partgen.plan.hardware import LENGTHS, SCREWS, sold
from partgen.plan.train import resolve

# Screws

@given(least=st.floats(2, 80))
def test_lengths_are_the_shortest_on_sale_that_reach(least):
    length = sold(least)
    assert length in LENGTHS and length >= least - 1e-9
    assert not any(least <= one < length for one in LENGTHS)


@pytest.mark.parametrize("load", ["modules = ['board']\ncups = ['tea']", "cups = ['tea']"], ids=["lid", "open"])
@pytest.mark.parametrize("screw", sorted(SCREWS))
def test_screws_hold_and_never_come_through(screw, load):
    """Ends lie inside what they are screwed into, with 2.3 d of thread below the mouth (SEEN-2: rules for screws in
    moulded plastic) or most of a nut: found in the plan's own heights, worked out the other way round."""
    [plan] = one(wagon=f'{load}\nscrew = "{screw}"', module=BOARD).wagons
    kinds = set()
    for held in fasteners(plan):
        tip = held.z + (-held.length if held.down else held.length)
        d, size = held.screw.thread, held.screw
        kinds.add(held.what)
        if held.what == "axle holder":
            bar_z = next(item.places[0].z for item in plan.items if item.part == "clamp-bar")
            nut = bar_z + plan.gear.bar.height - plan.gear.bar.nut_depth
            assert nut + 0.8 * size.nut_height - 1e-9 <= tip <= plan.body.bottom + 1e-9
            continue
        if held.what == "drawbar":
            seat = plan.frame.seats[0]
            mouth, bottom = seat.spigot_bottom, min(seat.spigot_bottom + seat.core_depth, plan.frame.top - 0.8)
            assert tip > seat.boss_bottom + 0.4 * d, "past the spigot's root"
        elif held.what == "body" or plan.laid_in:
            mouth, bottom = plan.frame.top, plan.frame.bottom
        elif held.what == "cradle":
            mouth, bottom = plan.lid.top, plan.lid.bottom - plan.lid.boss_reach + 0.8
        else:
            boss, = {(b.height, b.depth) for b in plan.body.fittings.bosses}
            mouth, bottom = plan.floor_z + boss[0], plan.body.bottom
        assert abs(tip - mouth) >= 2.3 * d and held.thread >= 2.3 * d
        assert held.thread == pytest.approx(abs(tip - mouth), abs=0.1 * d) and held.thread < abs(tip - mouth)
        assert min(mouth, bottom) + 0.49 <= tip <= max(mouth, bottom) - 0.49 or held.spare >= 0.49
        assert min(mouth, bottom) <= tip <= max(mouth, bottom)
    assert kinds == ({"axle holder", "drawbar", "body", "cradle", "board"} if plan.lid else
                     {"axle holder", "drawbar", "cradle"})


def test_every_hole_gets_its_screw():
    [plan] = one(**FULL).wagons
    found = fasteners(plan)
    assert {(held.x, held.y) for held in found if held.what == "body"} == set(plan.body.screws)
    assert {(held.x, held.y) for held in found if held.what == "cradle"} == set(plan.cradle.screws)
    assert {held.x for held in found if held.what == "drawbar"} == {seat.x for seat in plan.frame.seats}
    assert sum(held.what == "axle holder" for held in found) == 4
    # ISO 10642 begins at M3 (BS EN ISO 10642, from memory); smaller countersunk screws are ISO 7046.
    assert {held.standard for held in found if held.sunk} == {"ISO 10642"}
    [small] = one(wagon=FULL["wagon"] + '\nscrew = "M2"').wagons
    assert {held.standard for held in fasteners(small) if held.sunk} == {"ISO 7046"}


# The bill

def counted(train):
    return {line.what: line.count for line in bill(train)}


def test_a_full_wagon_by_hand():
    """2 axles, each holder 2 screws and 2 nuts; 2 drawbars with a washer and 2 magnets each; 4 + 4 countersunk."""
    found = counted(one(**FULL))
    assert found["wheelset"] == 2 and found["nut"] == 4 and found["washer"] == 2
    assert found["disc magnet, axially magnetised"] == 4
    sizes = {(line.what, line.size): line.count for line in bill(one(**FULL))}
    assert sum(count for (what, _), count in sizes.items() if what == "countersunk screw") == 8
    assert sum(count for (what, _), count in sizes.items() if what == "socket head screw") == 4 + 2


def test_a_wagon_on_bogies_by_hand():
    """4 axles, 2 king pins and 2 drawbars with a washer each, no clamp bars and no nuts."""
    found = counted(bogie())
    assert found["wheelset"] == 4 and found["washer"] == 4 and "nut" not in found


def test_tubes_and_single_magnets_are_counted():
    train = one(wheelset='ends = "tube"\ntube_diameter = 5', coupler='layout = "single"')
    found = counted(train)
    assert found["metal tube"] == 2 and found["disc magnet, axially magnetised"] == 2


def test_the_demo_adds_up_over_its_wagons(demo):
    train = resolve(demo)
    alone = [things for plan in train.printed for things in bought(plan)] + list(running.bought(train))
    lines = [line for line in bill(train) if line.shelf not in ("tools", "filament")]
    assert sum(line.count for line in lines) == sum(thing.count for thing in alone)
    cells = [line for line in bill(train) if "never bare cells" in line.use]
    assert [line.count for line in cells] == [1]


@pytest.mark.parametrize("layout, count", [("pair", 2), ("single", 1)])
def test_the_locomotive_gets_magnets_that_draw_the_first_drawbar(layout, count):
    """Unlike poles draw each other: what the first wagon shows forwards on its left, N, meets the locomotive's right as
    seen from behind, so that one shows S and the other N, or the single one S. They stand as far apart and as high."""
    train = one(coupler=f'layout = "{layout}"')
    line, = (line for line in bill(train) if line.wagons == ("locomotive",) and line.shelf == "magnets")
    assert line.count == count and line.size.startswith("6 x 3 mm") and "13 mm over the rails" in line.use
    said = next(step.text for step in steps(train) if step.title == "Magnets on the locomotive")
    assert "Nothing is printed" in said and "13 mm over the rails" in said and "11 mm beyond that end" in said
    bar = train.wagons[0].coupling.front
    if layout == "pair":
        facing = dict(zip(("left", "right"), bar.marks, strict=True))       # of one who looks forwards from the wagon
        assert bar.pockets[0] > 0 > bar.pockets[1] and facing == {"left": "N", "right": "S"}
        drawn = {"left": "S", "right": "N"}     # straight before each, the other pole
        assert f"the right one with its {drawn['right']} outwards, the left one with its {drawn['left']}" in said
        assert f"{bar.pockets[0] - bar.pockets[1]:.1f} mm apart" in said
    else:
        assert bar.marks == ("N",) and "its S outwards" in said


def test_the_locomotives_own_height_is_said_as_described_and_what_is_cut_to_length_has_its_rule():
    train = one(module="[train.locomotive]\ncoupler_height = 13.5", wheelset="printed = true")
    line, = (line for line in bill(train) if line.what == "disc magnet, for the locomotive")
    said = next(step.text for step in steps(train) if step.title == "Magnets on the locomotive")
    assert "13.5 mm over the rails" in line.use and "13.5 mm over the rails" in said
    for step in steps(one(wagon="modules = ['board']\nlights = 'strip'", module=BOARD)) + steps(train):
        if "Cut " in step.text:
            assert {"ruler", "caliper"} & set(step.tools), step.title


def test_tools_stand_last_on_the_bill_and_its_table(demo):
    train = resolve(demo)
    lines = bill(train)
    first = next(place for place, line in enumerate(lines) if line.shelf == "tools")
    assert tuple(line.what for line in lines[first:]) == tools(train) and "coin" in tools(train)
    rows = list(csv.DictReader(StringIO(as_csv(lines))))
    assert [row["what"] for row in rows[first:]] == list(tools(train))


def test_csv_reads_back_with_commas_and_quotes(demo):
    lines = bill(resolve(demo))
    rows = list(csv.DictReader(StringIO(as_csv(lines))))
    assert tuple(rows[0]) == COLUMNS and len(rows) == len(lines)
    assert [int(row["count"]) for row in rows] == [line.count for line in lines]
    assert [row["size"] for row in rows] == [line.size for line in lines]
    assert json.loads(json.dumps([columns(line) for line in lines]))[0]["count"] == lines[0].count


@pytest.mark.parametrize("cell, comes", [
    ('=HYPERLINK("x";"tea")', "'="), ("+1+1", "'+"), ("-2+3", "'-"), ("@SUM(A1)", "'@"), ("\t=1", "'\t"),
    ("\r=1", "'\r"), ("\uff1d1+1", "'\uff1d"), ("-5", "-5"), ("+2,5", "+2,5"), ("tea = hot", "tea"), ("", "")])
def test_no_cell_of_the_csv_is_a_formula(demo, cell, comes):
    """OWASP, "CSV Injection": =, +, -, @, tab and carriage return first, full-width ones too, run as formulas in a
    spreadsheet; an apostrophe before them keeps them text."""
    line = replace(bill(resolve(demo))[0], count=-3, what=cell, wagons=(cell, "b"))
    row, = csv.DictReader(StringIO(as_csv([line]), newline=""))
    assert row["what"].startswith(comes) and row["what"].replace("'", "") == cell and row["count"] == "-3"
    assert not row["wagons"].startswith(tuple("=+@\t\r\uff1d")) and row["wagons"].replace("'", "") == f"{cell}, b"


@pytest.mark.parametrize("sign", ";\t,|")
@pytest.mark.parametrize("cell", ["x;=HYPERLINK(1);y", "x\t=1\ty", 'x";=1', "x; @SUM(A1)", "x|+1+1", '="x,-2+3', "a;b"])
def test_nor_where_a_program_parts_cells_by_another_sign(demo, cell, sign):
    """OWASP, "CSV Injection": a separator or a quote within a text may begin a cell of its own."""
    line = replace(bill(resolve(demo))[0], what=cell, wagons=())
    rows = list(csv.reader(StringIO(as_csv([line]), newline=""), delimiter=sign))
    assert not [one for row in rows for one in row if one.strip(' "').startswith(tuple("=+@-\t"))]
    row, = csv.DictReader(StringIO(as_csv([line]), newline=""))
    assert row["what"].replace("'", "") == cell
    assert "'" in row["what"] or cell == "a;b"
