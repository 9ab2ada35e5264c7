"""What is cut into a body's walls as planned: openings, vents, lamps and the lid's notch, by rectangles of shapely's
and sums by hand; no CAD kernel."""

from itertools import pairwise
from math import pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plans import MODULES, flat, made, plan_of, train_of, wagons
from shapely import box
from shapely.ops import unary_union

from partgen.checks.openings import opening
from partgen.plan.body.opening import along

SETS = (("tray",), ("tray", "chip"), ("board", "tray"), ("board", "port"), ("cell", "tray", "port"), ("eye", "tray"),
        ("cell", "chip"))


def rim(drawn):
    """Depth of a lid's rim: 5 mm, and more as two lines are more than 1.2 mm."""
    return 5.0 + max(2 * drawn[1].get("line_width", 0.45) - 1.2, 0.0)


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


def test_slopes_are_none_or_such_as_can_be_drawn(monkeypatch):
    """What is left over an opening may differ from what must be by the last digit of a sum alone."""
    opening, body = shaped("rectangle", 20.0, 25.0)
    hair = body.inside[2] - (opening.low + opening.height) - 4e-16 * body.inside[2]
    monkeypatch.setattr("partgen.plan.body.opening.UNDER_GABLE", hair)
    assert hair < body.inside[2] - (opening.low + opening.height)
    assert shaped("rectangle", 20.0, 25.0)[0].gable == 0.0


def drawn(opening):
    """An opening's holes as shapely outlines: a rectangle shrunk by its corner's radius and grown again."""
    return [box(hole.along - hole.width / 2 + hole.corner, hole.low + hole.corner, hole.along + hole.width / 2
                - hole.corner, hole.low + hole.height - hole.corner).buffer(hole.corner, 64) for hole in opening.holes]


def test_a_round_hole_is_told_of_its_steep_cap_and_no_level_top():
    """Of a circle of 16.2 mm what leans over more than 45 degrees: its upper quarter, as long as an inscribed square's
    side (plane geometry)."""
    port = MODULES["port"] | {"height": 20.0, "looks_out": [dict(side="left", width=15.8, height=15.8, shape="round")]}
    train = train_of({"modules": ["port", "tray"], "height": 55.0}, module=MODULES | {"port": port})
    found, = (one for one in opening(train) if "port" in str(one.subject) and one.sense == "max")
    assert found.value == pytest.approx(16.2 / 2**0.5) and found.verdict == "warn"
    assert found.reason.startswith("an opening is round above, over 11.5 mm too level to carry itself")


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


# ---- land between what is cut into a wall

SWITCH = dict(length=22, width=21, height=15, mass=6, plugs=["back"], plug_room=10, mount="panel", turns=[],
              looks_out=[dict(side="front", width=19.2, height=12.9, panel=1.2)])
PORT = dict(length=18, width=16, height=9, mass=3, plugs=["back"], plug_room=6, turns=[],
            looks_out=[dict(side="front", width=13, height=7)])


def lands_of(body, wall):
    """What stays of a wall between every two cuts of which one is an opening: pockets end in slopes of 45 degrees."""
    seen = []
    for one in body.fittings.openings:
        (left, right), (low, high) = one.pocket
        off = one.thinned + 0.2
        seen += [(one.wall, box(left - off, low - off, right + off, high + off) if one.thinned else
                  box(one.along - one.width / 2, one.low, one.along + one.width / 2, one.top))]
    fitted, top = body.fittings, body.inside[2]
    others = [(w, along(w, x, 0), 1.0, fitted.vent_low, fitted.vent_top) for x, w in fitted.vents]
    others += [(w, along(w, x, 0), fitted.lamp / 2, fitted.lamp_level - fitted.lamp / 2,
                fitted.lamp_level + fitted.lamp / 2) for x, w in fitted.lamps]
    others += [(w, at, fitted.notch / 2 + 2, top - 2, top) for at, w in fitted.notches]
    others += [(w, along(w, x, 0), 2.5, top - 2.4, top) for x, w in fitted.ways]
    every = [*seen, *((w, box(at - half, low, at + half, high)) for w, at, half, low, high in others)]
    return [one.distance(other) for k, (w, one) in enumerate(seen) for v, other in every[k + 1:] if w == v == wall]


@pytest.mark.parametrize("line, wagon", [
    ({}, {}), ({"nozzle": 0.8, "line_width": 0.8}, {"lights": "lamps"}), ({}, {"wall": 3.0, "lights": "strip"})])
def test_a_switch_and_a_port_in_one_wall_keep_two_lines_between_them(line, wagon):
    """Both at the front: the wall is thinned far beyond the switch's own face."""
    train = train_of({"modules": ["switch", "port", "board"], "width": 60.0, **wagon}, printer=line,
                     module=MODULES | {"switch": SWITCH, "port": PORT})
    body = train.wagons[0].body
    assert {one.wall for one in body.fittings.openings if one.names} == {"front"}
    lands = [land for wall in ("front", "back", "left", "right") for land in lands_of(body, wall)]
    assert min(lands) >= 2 * line.get("line_width", 0.45) - 1e-6


def test_a_lamp_keeps_off_the_thinned_wall_over_a_low_switch():
    """Beside a higher module it has wall enough over the switch, but none over what is thinned round that."""
    aside = SWITCH | dict(length=21, width=22, plugs=["right"],
                          looks_out=[dict(side="left", width=19.2, height=12.9, panel=1.2)])
    body = plan_of({"modules": ["switch", "high"], "width": 57.0, "wall": 3.0, "lights": "lamps"},
                   module={"switch": aside, "high": dict(length=30, width=30, height=27, mass=20, turns=[])}).body
    assert len(body.fittings.lamps) == 6 and min(lands_of(body, "left")) >= 0.9


def test_the_way_for_a_strips_wires_is_not_in_the_slopes_over_a_wide_opening():
    """It is in the middle of the other wall, where a module stands as close behind it."""
    wide = dict(length=120, width=14, height=26, mass=20, turns=[], looks_out=[dict(side="left", width=40, height=25)])
    body = plan_of({"modules": ["wide"], "width": 57.0, "lights": "strip"}, module={"wide": wide}).body
    ways = {wall: x for x, wall in body.fittings.ways}
    assert ways["right"] == 0 and ways["left"] != 0 and min(lands_of(body, "left")) >= 0.9


def test_openings_of_one_module_closer_than_two_lines_are_refused():
    """By hand: holes 8.4 mm wide, their middles 9 mm apart, leave 0.6 mm of the 0.9 that two lines are."""
    two = dict(length=30, width=12, height=14, mass=5, turns=[],
               looks_out=[dict(side="left", width=8, height=7, aside=aside) for aside in (4.5, -4.5)])
    train = train_of({"modules": ["two", "tray"], "width": 57.0}, module=MODULES | {"two": two})
    found, = [one for one in opening(train) if one.verdict == "fail"]
    assert found.value == pytest.approx(0.6) and found.limit == pytest.approx(0.9)
    assert "0.60 mm of wall stay" in found.reason


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
