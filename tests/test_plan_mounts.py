"""What holds modules in a body as planned: lips, bosses, straps and lands, by rectangles of shapely's and sums by hand;
no CAD kernel."""

from math import pi

import numpy as np
import pytest
from hypothesis import given, settings
from plans import MODULES, flat, made, plan_of, wagons
from shapely import Point, box
from shapely.affinity import translate
from shapely.ops import unary_union

from partgen.plan.body.fittings import EYE

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
