"""What shapes a body round its modules, as planned: lips, bosses, openings, vents, lamps and the lid, by rectangles of
shapely's and sums by hand; no CAD kernel."""

from itertools import pairwise
from math import pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plans import MODULES, flat, made, plan_of, wagons
from shapely import Point, box
from shapely.affinity import translate
from shapely.ops import unary_union

from partgen.plan.body.fittings import EYE
from partgen.plan.body.opening import along

SETS = (("tray",), ("tray", "chip"), ("board", "tray"), ("board", "port"), ("cell", "tray", "port"), ("eye", "tray"),
        ("cell", "chip"))


def sides(plan):
    """The lips along the sides of modules."""
    return [lip for lip in plan.body.fittings.lips if lip.axis == 1]


def lips_round(plan, name):
    """The lips of a module's sides, each as which end and side of it they stand at."""
    one = next(placed for placed in plan.layout.placed if placed.name == name)
    near = [lip for lip in sides(plan) if flat(lip.spans).distance(flat(one.box)) < 1.0]
    return sorted((int(np.sign(lip.x - one.x)), int(np.sign(lip.y - one.y))) for lip in near)


def rim(drawn):
    """Depth of a lid's rim: 5 mm, and more as two lines are more than 1.2 mm."""
    return 5.0 + max(2 * drawn[1].get("line_width", 0.45) - 1.2, 0.0)


# ---- what holds modules

def test_a_tray_that_stands_free_has_lips_at_its_four_corners():
    """Ribs 1.6 mm thick, a third of the module but 7 mm at most long, 0.6 mm beside it, flush with its ends."""
    fixed = MODULES | {"tray": MODULES["tray"] | {"turns": []}}
    plan = plan_of({"modules": ["tray"], "width": 71.5}, module=fixed)
    assert lips_round(plan, "tray") == [(-1, -1), (-1, 1), (1, -1), (1, 1)] and len(sides(plan)) == 4
    one, = plan.layout.placed
    for lip in sides(plan):
        assert sorted((lip.length, lip.width)) == [1.6, 7.0] and lip.length == 7.0
        assert flat(lip.spans).distance(flat(one.box)) == pytest.approx(0.6)
        assert abs(lip.x - one.x) + lip.length / 2 == pytest.approx(one.length / 2)
    short = MODULES | {"tray": MODULES["tray"] | {"length": 18.0, "width": 18.2, "turns": []}}
    lips = sides(plan_of({"modules": ["tray"], "width": 71.5}, module=short))
    assert len(lips) == 4 and {lip.length for lip in lips} == {6.0}


def test_where_walls_hold_a_tray_it_has_no_lips():
    """A wall 1 mm beside it; 0.6 mm and a rib of 1.6 mm do not go between."""
    wide = MODULES | {"tray": MODULES["tray"] | {"width": 46.0, "turns": []}}
    plan = plan_of({"modules": ["tray"], "width": 52.4}, module=wide)
    assert not plan.wanting and not sides(plan)
    # as much again as half a rib stays free behind it
    assert not sides(plan_of({"modules": ["tray"], "width": 46 + 2 * (0.6 + 2.4 + 2.0) - 0.2}, module=wide))
    assert len(sides(plan_of({"modules": ["tray"], "width": 46 + 2 * (0.6 + 2.4 + 2.0) + 0.2}, module=wide))) == 4


@settings(max_examples=40)
@given(wagons(modules=SETS))
def test_a_module_in_a_tray_slides_nowhere(drawn):
    """Moved 3 mm and a hair any way along or across, it is in a wall, a rib, a lip or another module."""
    plan = made(drawn)
    body, placed = plan.body, plan.layout.placed
    x, y = (side / 2 for side in body.inside[:2])
    for one in [one for one in placed if one.module.mount == "lip" and one.on is None]:
        things = [flat(thing.spans) for thing in (*body.fittings.lips, *body.ribs)]
        things += [flat(other.box) for other in placed if other is not one and other.z < one.z + one.height]
        things.append(box(-999, -999, 999, 999) - box(-x, -y, x, y))
        for way in ((3.05, 0), (-3.05, 0), (0, 3.05), (0, -3.05)):
            moved = unary_union([flat(one.box), translate(flat(one.box), *way)]).envelope
            assert any(moved.intersection(thing).area > 0.01 for thing in things), (one.name, way)


@settings(max_examples=40)
@given(wagons(modules=SETS))
def test_lips_stand_clear_of_all_but_their_module_and_wherever_they_can(drawn):
    plan, rib = made(drawn), max(1.6, 2 * drawn[1].get("line_width", 0.45))
    body, placed = plan.body, plan.layout.placed
    inside = flat(((-body.inside[0] / 2, body.inside[0] / 2), (-body.inside[1] / 2, body.inside[1] / 2)))
    heads = [box(x - body.cone / 2 - 0.4, y - body.cone / 2 - 0.4, x + body.cone / 2 + 0.4, y + body.cone / 2 + 0.4)
             for x, y in body.screws]
    lips = [flat(lip.spans) for lip in body.fittings.lips]
    slots = [flat(slot) for strap in body.fittings.straps for slot in strap.slots]
    assert len(set(lips)) == len(lips)
    for one in [one for one in placed if one.module.mount == "lip"]:
        others = [flat(other.box) for other in placed if other is not one] + heads + slots
        for end in (1, -1):
            for side in (1, -1):
                long, half = max(min(7.0, one.length / 3), rib), rib / 2
                x, y = one.x + end * (one.length - long) / 2, one.y + side * (one.width / 2 + 0.6 + half)
                wanted = box(x - long / 2, y - half, x + long / 2, y + half)
                # as `disjoint by 0.3 mm along x or along y`: rectangles, so a square of 0.3 mm round each
                free = inside.buffer(1e-6).contains(wanted.buffer(half, join_style="mitre").intersection(
                    box(-999, y - rib, 999, y + rib))) and all(
                    wanted.buffer(0.3 - 1e-6, join_style="mitre").intersection(other).area < 1e-9 for other in others)
                drawn_there = any(lip.symmetric_difference(wanted).area < 1e-6 for lip in lips)
                assert drawn_there == (free and one.z == 0.0), (one.name, end, side)
    assert len(lips) <= 8 * len(placed)
    for lip in lips:
        assert all(lip.intersection(flat(thing)).area < 1e-9 for thing in (*(one.box for one in placed), *(
            rib.spans for rib in body.ribs))) and all(lip.intersection(slot).area < 1e-9 for slot in slots)


def test_bosses_straps_and_lands_lie_under_their_modules():
    plan = plan_of({"modules": ["board", "cell", "port"], "width": 71.5})
    fitted, at = plan.body.fittings, {placed.name: placed for placed in plan.layout.placed}
    board, cell, port = at["board"], at["cell"], at["port"]
    turn = np.array(board.turn.matrix)[:2, :2]
    holes = {tuple(np.round(turn @ hole + (board.x, board.y), 6)) for hole in MODULES["board"]["holes"]}
    assert {(round(boss.x, 6), round(boss.y, 6)) for boss in fitted.bosses} == holes and len(fitted.bosses) == 4
    for boss in fitted.bosses:      # holes of 2.7 mm take M2.5: core 2.05, and 0.15 mm because bores print small
        assert 2.05 + 0.15 <= boss.core <= 2.05 + 0.16
        # M2.5 x 8 through 1.6 mm of board reaches 6.4 mm; half a mm below its end the floor's 2.4 mm end
        assert boss.length == 8 and boss.height == pytest.approx(6.4 + 0.5 - 2.4) == board.z
        assert boss.diameter == pytest.approx(boss.core + 3.0) and boss.depth == pytest.approx(6.9)
    strap, = fitted.straps
    across = min(cell.length, cell.width)
    assert (strap.x, strap.y, strap.turned) == (cell.x, cell.y, cell.length < cell.width)
    assert strap.apart == pytest.approx(across + 2 * 1.0 + 2.2)
    land, = fitted.lands
    assert (land.x, land.y) == (port.x, port.y)
    assert (land.length, land.width) == pytest.approx((port.length - 3, port.width - 3))
    assert EYE == 2.4


def test_a_boss_closer_than_a_line_to_a_wall_is_joined_to_it():
    """Closing by half a line (a disc rolled along it from outside) fills any gap that would print shut."""
    board = {"board": MODULES["board"] | {"width": 41, "holes": [[22, 18.6], [22, -11.5], [-20, 17.2], [-22, -18.9]]}}
    body = plan_of({"modules": ["board"]}, module=board).body
    length, width, _ = body.inside
    walls, line = box(-length, -width, length, width) - box(-length / 2, -width / 2, length / 2, width / 2), 0.45
    webbed = 0
    for boss in body.fittings.bosses:
        disc = Point(boss.x, boss.y).buffer(boss.diameter / 2, 64)
        printed = unary_union([disc, walls, *(flat(web.spans) for web in boss.webs)])
        assert printed.buffer(line / 2).buffer(-line / 2).area - printed.area < line**2 / 2
        assert all(web.width < boss.diameter for web in boss.webs)
        assert bool(boss.webs) == (disc.distance(walls) < line)
        webbed += len(boss.webs)
    assert 0 < webbed < 4


@pytest.mark.parametrize("hole, thread", [(2.2, 2.0), (2.5, 2.0), (2.6, 2.5), (3.0, 2.5), (3.2, 3.0), (1.5, 2.0)])
def test_bosses_take_the_largest_screw_that_passes_the_boards_holes(hole, thread):
    """M2, M2.5 and M3; where none passes, M2 all the same."""
    board = MODULES | {"board": MODULES["board"] | {"hole": hole}}
    core = {2.0: 1.6, 2.5: 2.05, 3.0: 2.5}[thread]
    bosses = plan_of({"modules": ["board"]}, module=board).body.fittings.bosses
    assert [boss.core for boss in bosses] == pytest.approx([core + 0.153] * 4, abs=0.01)


def test_a_module_that_lies_on_another_has_neither_lips_nor_land_nor_strap():
    long = MODULES | {"cell": MODULES["cell"] | {"length": 130.0, "width": 41.0}}
    plan = plan_of({"modules": ["cell", "chip"], "levels": 2, "width": 57.0}, module=long)
    chip = next(placed for placed in plan.layout.placed if placed.name == "chip")
    assert chip.on is not None and chip.z > 20
    assert not plan.body.fittings.lips and len(plan.body.fittings.straps) == 1


# ---- openings

def test_an_opening_is_as_large_as_what_it_shows_and_0_4_mm_more():
    plan = plan_of({"modules": ["port", "tray"], "width": 57.0})
    port = next(placed for placed in plan.layout.placed if placed.name == "port")
    opening = plan.body.fittings.openings[0]
    # 13 x 6 mm, 1.5 mm towards its front and 0.8 mm below the middle of its left face
    assert (opening.width, opening.height) == pytest.approx((13.4, 6.4))
    assert opening.low == pytest.approx(port.z + 4.5 - 0.8 - 3.2)
    turn = np.array(port.turn.matrix)
    at = turn @ (1.5, 7, -0.8) + (port.x, port.y, 0)
    place = {"left": -at[0], "right": at[0], "front": at[1], "back": -at[1]}[opening.wall]
    assert opening.along == pytest.approx(place)
    assert opening.gable == pytest.approx((13.4 - 9.6) / 2)
    # a rectangle and over it a trapezoid of 45 degrees, level nearly as far as the printer bridges
    hole, = opening.holes
    assert hole.area == pytest.approx(13.4 * 6.4 + 1.9 * (13.4 + 9.6) / 2) and hole.level == pytest.approx(9.6)
    wide = plan_of({"modules": ["port", "tray"], "width": 57.0}, printer={"bridge": 15.0}).body.fittings.openings[0]
    assert wide.gable == 0.0 and wide.holes[0].area == pytest.approx(13.4 * 6.4)
    low = MODULES | {"port": MODULES["port"] | {"height": 4.0, "mount": "lip",
                                                "looks_out": [dict(side="left", width=9, height=4)]}}
    narrow = plan_of({"modules": ["port", "tray"], "width": 57.0}, module=low).body.fittings.openings[0]
    assert narrow.low == 0.6 and narrow.height == pytest.approx(4.2 - 0.6) and narrow.gable == 0.0
    assert narrow.holes[0].area == pytest.approx(9.4 * 3.6)


def shaped(shape, width, height, panel=0.0, **printer):
    """The opening of one part in a side wall, and its body."""
    part = dict(length=30, width=12, height=26, mass=5, mount="panel" if panel else "tape", turns=[],
                looks_out=[dict(side="left", width=width, height=height, shape=shape, panel=panel)])
    plan = plan_of({"modules": ["part", "tray"], "width": 57.0}, module=MODULES | {"part": part}, printer=printer)
    return next(one for one in plan.body.fittings.openings if one.names == ("part",)), plan.body


def test_slopes_over_a_wide_opening_leave_wall_over_them():
    """As far up as 1.5 mm under the wall's edge, or two lines; there the level is longer than the printer bridges."""
    opening, body = shaped("rectangle", 20.0, 25.0)
    assert opening.top == pytest.approx(body.inside[2] - 1.5) and opening.holes[0].level > 9.6
    coarse, body = shaped("rectangle", 20.0, 25.0, nozzle=0.8, line_width=0.9)
    assert coarse.top == pytest.approx(body.inside[2] - 1.8)


def drawn(opening):
    """An opening's holes as shapely outlines: a rectangle shrunk by its corner's radius and grown again."""
    return [box(hole.along - hole.width / 2 + hole.corner, hole.low + hole.corner, hole.along + hole.width / 2
                - hole.corner, hole.low + hole.height - hole.corner).buffer(hole.corner, 64) for hole in opening.holes]


@pytest.mark.parametrize("shape, width, height, area", [
    ("round", 12.0, 12.0, pi / 4 * 12.4**2), ("slot", 16.0, 5.0, 11.0 * 5.4 + pi / 4 * 5.4**2),
    ("slot", 5.0, 16.0, 11.0 * 5.4 + pi / 4 * 5.4**2), ("rectangle", 9.0, 7.0, 9.4 * 7.4)])
def test_a_hole_has_the_shape_of_what_goes_through(shape, width, height, area):
    """Of a circle pi/4 d2, of a stadium that and the rectangle between its ends; 0.4 mm more than described."""
    opening, _ = shaped(shape, width, height)
    outline, = drawn(opening)
    assert opening.gable == 0.0 and outline.area == pytest.approx(area, rel=1e-3)
    assert opening.holes[0].area == pytest.approx(area)


@pytest.mark.parametrize("line", [{}, {"nozzle": 0.8, "line_width": 0.9}])
def test_a_grille_is_about_half_open_between_bars_that_print(line):
    """40 to 65 % for sound; a bar is two lines wide or more; what it covers is as described."""
    opening, _ = shaped("grille", 28.0, 18.0, **line)
    outlines = drawn(opening)
    gaps = unary_union(outlines)
    assert 0.4 < gaps.area / (28.4 * 18.4) < 0.65
    bars = [one.distance(other) for one, other in pairwise(outlines)]
    assert min(bars) >= 2 * line.get("line_width", 0.45) - 1e-9
    assert max(one.bounds[2] - one.bounds[0] for one in outlines) <= 2.0 + 1e-9
    assert gaps.bounds[2] - gaps.bounds[0] > 28.4 - min(bars) - 2.0


def test_a_panel_is_as_thick_as_what_snaps_in_asks_with_a_level_top():
    """The wall behind is thinned 3 mm all round, or up to the lid's rim or the floor, and no plank cuts into it."""
    opening, body = shaped("rectangle", 19.2, 12.9, panel=1.2)
    assert opening.gable == 0.0 and body.wall - opening.thinned == pytest.approx(1.2)
    assert (opening.width, opening.height) == pytest.approx((19.2 + 0.25, 12.9 + 0.25))   # snug, and it prints small
    (left, right), (low, high) = opening.pocket
    assert right - left == pytest.approx(opening.width + 6.0) and low == pytest.approx(opening.low - 3.0)
    assert opening.top + 1.5 < high <= body.inside[2] - 1.0 - opening.thinned
    assert opening.frame >= 3.0 + opening.thinned
    thick, body = shaped("rectangle", 19.2, 12.9, panel=2.0)
    assert thick.thinned == 0.0 and thick.frame == 1.6
    coarse, body = shaped("rectangle", 19.2, 12.9, panel=1.2, nozzle=0.8, line_width=0.8)
    assert body.wall - coarse.thinned == pytest.approx(1.6)         # two lines


def test_a_thinned_wall_is_cleared_of_the_corners_that_it_reaches_into():
    switch = dict(length=20, width=40, height=15, mass=5, mount="panel", turns=[],
                  looks_out=[dict(side="front", width=39, height=12, panel=1.2)])
    body = plan_of({"modules": ["switch"], "wall": 2.0}, module={"switch": switch}).body
    opening = next(one for one in body.fittings.openings if one.panel)
    (x, y, _), round_it = body.inside, body.inner_corner
    inside = box(round_it - x / 2, round_it - y / 2, x / 2 - round_it, y / 2 - round_it).buffer(round_it, 256)
    found = list(opening.corners(body))
    assert found
    for (low, high), out in found:
        edge = max(low, high, key=abs)
        reach = inside.intersection(box(0, edge - 1e-6, x, edge + 1e-6)).bounds[2]
        assert out == pytest.approx(x / 2 - reach, abs=0.02)
        assert min(abs(low), abs(high)) == pytest.approx(y / 2 - round_it)
        assert abs(edge) == pytest.approx(min(opening.width / 2 + abs(opening.along) + opening.thinned + 0.2, y / 2))


@pytest.mark.parametrize("wall, x, y, place", [("front", 50, 7, 7), ("back", -50, 7, -7), ("left", 12, 30, -12),
                                               ("right", 12, -30, 12)])
def test_places_along_a_wall_count_to_the_right_as_seen_from_outside(wall, x, y, place):
    """Seen from outside, right is the outward normal turned a quarter clockwise, z up: by cross product."""
    out = {"front": (1, 0, 0), "back": (-1, 0, 0), "left": (0, 1, 0), "right": (0, -1, 0)}[wall]
    assert along(wall, x, y) == place == np.dot((x, y, 0), np.cross((0, 0, 1), out))


@settings(max_examples=40)
@given(wagons(modules=SETS))
def test_wires_go_out_where_nothing_stands_and_as_low_as_that_lets_them(drawn):
    plan = made(drawn)
    body, fitted = plan.body, plan.body.fittings
    half = body.inside[1] / 2 - body.inner_corner - 4.0 - 2.0
    top = body.inside[2] - 5.0 - 6.0
    for wall, sign in (("front", 1), ("back", -1)):
        way, = [one for one in fitted.openings if one.wall == wall and (one.width, one.height) == (8.0, 6.0)]
        boxes = [(*one.box[1], *one.box[2]) for one in plan.layout.placed
                 if body.inside[0] / 2 - max(sign * x for x in one.box[0]) < 4.0]
        boxes += [(*lip.spans[1], 0.0, 3.0) for lip in fitted.lips
                  if body.inside[0] / 2 - max(sign * x for x in lip.spans[0]) < 4.0]
        blocked = unary_union([box(y0, z0, y1, z1) for y0, y1, z0, z1 in boxes])

        y, lows = sign * way.along, {2.0, *(b[3] + 1.0 for b in boxes if 2.0 < b[3] + 1.0 <= top)}
        assert way.low >= 2.0 and abs(y) <= half + 1e-9
        places = [(low, abs(k) * half / 6) for low in lows for k in range(-6, 7)
                  if box(k * half / 6 - 4.0, low, k * half / 6 + 4.0, low + 6.0).intersection(blocked).area < 1e-9]
        if places:
            assert box(y - 4, way.low, y + 4, way.low + 6).intersection(blocked).area < 1e-9
            assert (way.low, abs(y)) == pytest.approx(min(places))
        else:
            assert (way.low, y) == (2.0, 0.0)


# ---- vents and lamps

@settings(max_examples=40)
@given(wagons(modules=(("board",), ("board", "port"), ("board", "tray"))))
def test_vents_stand_over_warm_modules_in_fields_clear_of_openings(drawn):
    """Slots 2 mm wide every 5 mm, the lot in the middle of its field; none within 5.5 mm of an opening's edge, through
    a fence's end, or within half a millimetre of a screw's head on its way down a thick wall."""
    plan = made(drawn)
    body, fitted = plan.body, plan.body.fittings
    board = next(placed for placed in plan.layout.placed if placed.name == "board")
    end = body.length / 2 - body.corner - 2.0
    fields = body.fields(body.length) or ((-end, end),)
    radius = body.cone / 2 + 0.3
    heads = [x for x, _ in body.screws] if body.flute else []
    wished = set()
    for start, stop in fields:
        count = int((stop - start - 4.0) // 5.0) + 1
        slots = np.arange(count) * 5.0
        slots += (start + stop) / 2 - slots.mean()
        assert slots[0] - 1.0 >= start and slots[-1] + 1.0 <= stop
        for x in slots:
            over = board.box[0][0] - 2.5 < x < board.box[0][1] + 2.5 and all(
                abs(x - fence) >= (body.rib + 2.0) / 2 for fence in body.fences) and all(
                abs(x - head) >= 1.5 + np.sqrt(radius**2 - (radius - body.flute)**2) for head in heads)
            for wall, sign in (("left", -1), ("right", 1)):
                near = [abs(sign * x - o.along) - o.width / 2 for o in fitted.openings if o.wall == wall]
                if over and all(gap > 5.5 for gap in near):
                    wished.add((round(float(x), 6), wall))
    assert {(round(x, 6), wall) for x, wall in fitted.vents} == wished and len(fitted.vents) == len(wished)
    assert fitted.vent_low == 2.5 and fitted.vent_top == pytest.approx(body.inside[2] - rim(drawn) - 0.6)
    assert fitted.vent_area == pytest.approx(len(wished) * box(0, 2.5, 2, fitted.vent_top).area)


def test_slots_of_a_plain_wall_keep_off_its_corners():
    """30 slots 2 mm wide every 5 mm need 1 mm of wall beside the outermost and 2 mm more before a corner's round."""
    need = 2 * (4.0 + 2.0) + 2 * (1.0 + 1.0) + 29 * 5.0
    for more, middle in ((0.1, False), (-0.1, True)):       # one slot less, and one stands in the middle
        plan = plan_of({"modules": ["board"], "sides": "plain", "length": need + more})
        assert plan.body.corner == 4.0 and ((0.0, "left") in plan.body.fittings.vents) is middle
        assert plan.body.fittings.vents


@settings(max_examples=40)
@given(wagons(modules=SETS), st.sampled_from(["planked", "plain"]))
def test_lamps_hang_in_every_field_with_room_behind_and_nowhere_else(drawn, sides):
    """5 mm, in the middle of its field, 4.6 mm under the rim; 10 x 9 x 10 mm behind it is free."""
    wish, printer = drawn
    plan = made(({**wish, "lights": "lamps", "sides": sides}, printer))
    body, fitted = plan.body, plan.body.fittings
    level = body.inside[2] - rim(drawn) - 0.6 - 4.0
    assert fitted.lamp_level == pytest.approx(level) and 5.25 <= fitted.lamp <= 5.35
    assert fitted.vent_top == pytest.approx(level - 4.0)
    end = body.length / 2 - body.corner
    wished = set()
    for start, stop in body.fields(body.length) or ((-end, 0.0), (0.0, end)):
        x = (start + stop) / 2
        for wall, sign in (("left", 1), ("right", -1)):
            face = sign * body.inside[1] / 2
            behind = box(x - 5, min(face, face - sign * 9), x + 5, max(face, face - sign * 9))
            stands = any(flat(one.box).intersection(behind).area > 1e-9 and one.box[2][0] < level + 5 and
                         one.box[2][1] > level - 5 for one in plan.layout.placed)
            near = [abs(-sign * x - o.along) - o.width / 2 for o in fitted.openings
                    if o.wall == wall and o.low + o.height + o.gable > level - 5]
            if not stands and all(gap > 5.5 for gap in near):
                wished.add((round(x, 6), wall))
    assert {(round(x, 6), wall) for x, wall in fitted.lamps} == wished


@settings(max_examples=30)
@given(wagons(modules=SETS))
def test_a_notch_for_a_coin_opens_the_lid_at_either_end(drawn):
    """2 mm high, in the middle of the end walls' upper edge, 16 mm wide where the lid's beads leave so much; only an
    opening that reaches up to it takes its place."""
    plan = made(drawn)
    fitted, high = plan.body.fittings, plan.body.inside[2]
    notch = box(-fitted.notch / 2 - 2.0, high - 2.0, fitted.notch / 2 + 2.0, high)
    assert 6.0 < fitted.notch <= 16.0
    for socket in plan.lid.clips.sockets:
        if socket.yaw in (0.0, 180.0):
            assert plan.lid.clips.clip.nose - 2.5 - 0.7 - fitted.notch / 2 >= 2.0 - 1e-9
    for wall in ("front", "back"):
        near = [box(o.along - o.width / 2, o.low, o.along + o.width / 2, o.top).distance(notch) < 1.5
                for o in fitted.openings if o.wall == wall]
        assert ((0.0, wall) in fitted.notches) or any(near)
        assert not ((0.0, wall) in fitted.notches and any(near))


def test_no_lamps_without_a_wish():
    assert not plan_of({"modules": ["tray"]}).body.fittings.lamps
    assert plan_of({"modules": ["tray"], "lights": "lamps"}).body.fittings.lamps


def test_fittings_volume_piece_by_piece():
    plan = plan_of({"modules": ["board", "cell", "port", "tray"], "width": 71.5, "lights": "lamps"})
    fitted = plan.body.fittings
    added = sum(pi / 4 * (boss.diameter**2 * 4.5 - boss.core**2 * boss.depth) for boss in fitted.bosses)
    added += sum(lip.length * lip.width * 3.0 for lip in fitted.lips)
    taken = sum(2 * (land.length + land.width) * 0.7 * 0.4 for land in fitted.lands)
    taken += sum(10.4 * (1.2 * strap.apart + 2 * 2.2 * 1.2) for strap in fitted.straps)
    through = sum(hole.area for opening in fitted.openings for hole in opening.holes) + fitted.vent_area + sum(
        0.82 * fitted.lamp**2 for _ in fitted.lamps) + len(fitted.notches) * 2.0 * (fitted.notch + 2.0)
    assert fitted.lips and fitted.lamps and fitted.vents and fitted.straps and fitted.lands
    assert fitted.volume(1.7) == pytest.approx(added - taken - 1.7 * through)
