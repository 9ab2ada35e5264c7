"""The body from its layout: modules lie free inside, screws bite, straps pass, plugs reach, warm air gets out.

What goes in is drawn here as blocks and bars of the sizes in the description; overlaps are manifold3d's.
"""

from functools import cache

import numpy as np
import pytest
from conftest import DEMO, described
from plans import cured
from scipy.optimize import brentq
from trimesh.creation import box, cylinder

from partgen import parts
from partgen.checks.on_plan import run
from partgen.checks.printed import PRINT_CHECKS
from partgen.describe.load import load
from partgen.describe.printer_tables import Printer
from partgen.formulas.vent import vent_area
from partgen.identity import PartId
from partgen.plan.train import resolve
from partgen.printing.posed import Posed
from partgen.solids.built import lay
from partgen.solids.mesh import mesh_of
from partgen.solids.overlap import solid

TOUCH = 0.02            # mm3
MODULES = """
[module.board]
length = 50
width = 30
height = 12
mass = 20
mount = "bosses"
holes = [[21, 11], [21, -11], [-21, 11], [-21, -11]]
hole = 2.7
heat = 1
[module.cell]
length = 60
width = 26
height = 20
mass = 60
mount = "strap"
[module.port]
length = 20
width = 14
height = 9
mass = 5
mount = "tape"
looks_out = [{ side = "left", width = 14, height = 6 }]
[module.tray]
length = 30
width = 20
height = 10
mass = 10
"""
WAGON = "modules = ['board', 'cell', 'port', 'tray']\nwidth = 64"


@cache
def wagon(source):
    """The demo's electronics wagon, or one with every way to hold a module."""
    description = load(DEMO) if source == "demo" else described(module=MODULES, wagon=WAGON)
    return resolve(description).wagons[0]


@cache
def part(source, name):
    return mesh_of(parts.build(name, getattr(wagon(source), name)))


def overlap(one, other):
    return (solid(one) ^ solid(other)).volume()


def block(x, y, z):
    """A box from (low, high) along each axis."""
    spans = np.array([x, y, z], dtype=float)
    return box(spans[:, 1] - spans[:, 0]).apply_translation(spans.mean(axis=1))


def envelope(plan, placed):
    x, y, z = placed.box
    return block(x, y, (z[0] + plan.floor_z, z[1] + plan.floor_z))


@pytest.mark.slow
@pytest.mark.parametrize("source", ["demo", "all"])
def test_modules_lie_free_of_body_and_closed_lid(source):
    plan = wagon(source)
    assert not plan.layout.misfit and len(plan.layout.placed) + len(plan.hung) == 4
    for placed in plan.layout.placed:
        inside = envelope(plan, placed)
        assert overlap(inside, part(source, "lid")) < TOUCH
        # A hair up: bosses, floor and what lies on tape touch the module's underside.
        assert overlap(inside.copy().apply_translation((0, 0, 0.01)), part(source, "body")) < TOUCH, placed.name
        lifted = block(placed.box[0], placed.box[1], (plan.floor_z + placed.z + 0.01, plan.body.top + 50))
        assert overlap(lifted, part(source, "body")) < TOUCH, f"{placed.name} does not come out"


@pytest.mark.slow
def test_a_module_moved_into_a_wall_is_seen():
    plan = wagon("demo")
    moved = envelope(plan, plan.layout.placed[0]).apply_translation((0, 3, 0))
    assert overlap(moved, part("demo", "body")) > 10


@pytest.mark.slow
def test_screws_bite_in_the_bosses_under_a_boards_holes():
    """M2.5, thread 2.5 mm, goes through holes of 2.7 mm; its end stays in the floor, through which the core goes."""
    plan, body = wagon("all"), part("all", "body")
    board = next(p for p in plan.layout.placed if p.name == "board")
    for at in ((21, 11), (21, -11), (-21, 11), (-21, -11)):
        x, y, _ = board.turn.point((*at, 0))
        for diameter, bitten in ((2.1, False), (2.5, True)):
            thread = cylinder(diameter / 2, 5.75, sections=48).apply_translation(
                (board.x + x, board.y + y, plan.floor_z + board.z - 6.4 + 5.75 / 2))
            assert (overlap(thread, body) > 1.0) is bitten
        assert plan.floor_z + board.z - 6.4 > plan.body.bottom + 0.4
        collar = cylinder(2.5, 5.0).difference(cylinder(1.25, 6.0)).apply_translation(
            (board.x + x, board.y + y, plan.floor_z + board.z - 3.4))
        assert overlap(collar, body) == pytest.approx(collar.volume, rel=0.02)      # 2 d of plastic round the thread


@pytest.mark.slow
def test_a_strap_goes_round_its_module_through_the_floor():
    """A strap 10 mm wide and 1 mm thick, down on one side, under the module and up on the other."""
    plan, body = wagon("all"), part("all", "body")
    cell = next(p for p in plan.layout.placed if p.name == "cell")
    wide, side = (10, cell.width / 2 + 1.6) if cell.length >= cell.width else (cell.length / 2 + 1.6, 10)
    along = cell.length >= cell.width
    low = plan.body.bottom
    for sign in (1, -1):
        off = sign * (side if along else wide)
        x = (cell.x - 5, cell.x + 5) if along else (cell.x + off, cell.x + off + sign)
        y = (cell.y + off, cell.y + off + sign) if along else (cell.y - 5, cell.y + 5)
        assert overlap(block(sorted(x), sorted(y), (low - 1, plan.floor_z + 10)), body) < TOUCH
    way = block((cell.x - 4.5, cell.x + 4.5), (cell.y - side, cell.y + side), (low - 1, low + 1.0)) if along else block(
        (cell.x - wide, cell.x + wide), (cell.y - 4.5, cell.y + 4.5), (low - 1, low + 1.0))
    assert overlap(way, body) < TOUCH


@pytest.mark.slow
@pytest.mark.parametrize("source", ["demo", "all"])
def test_plugs_and_wires_pass_the_walls(source):
    """What is described as looking out is a bar through the wall; 6 mm of cable pass either end of the wagon."""
    plan, body = wagon(source), part(source, "body")
    seen = [c for c in plan.layout.cutouts if c.wall in ("front", "back", "left", "right")]
    assert seen
    for cutout in seen:
        size = [max(span, 12.0 if axis == ("left", "right").count(cutout.wall) else 0.0)
                for axis, span in enumerate(cutout.size)]
        bar = box(size).apply_translation(np.add(cutout.middle, (0, 0, plan.floor_z)))
        assert overlap(bar, body) < TOUCH
    for opening in plan.body.fittings.openings[-2:]:
        sign = 1 if opening.wall == "front" else -1
        cable = cylinder(3.0, 2 * (2.0 + 4.0), sections=48).apply_transform(
            [[0, 0, 1, 0], [0, 1, 0, 0], [-1, 0, 0, 0], [0, 0, 0, 1]])
        cable.apply_translation((sign * plan.length / 2, sign * opening.along, plan.floor_z + opening.low + 3.0))
        assert overlap(cable, body) < TOUCH


@pytest.mark.slow
def test_a_switch_snaps_into_a_panel_with_an_edge_on_every_side():
    """Plates 1.2 mm thick, as the switch asks, 2 mm beside, above and below its hole; none of the wall behind them."""
    plan, body = wagon("demo"), part("demo", "body")
    one = next(one for one in plan.body.fittings.openings if one.names == ("switch",))
    inward = {"front": (-1, 0), "back": (1, 0), "left": (0, -1), "right": (0, 1)}[one.wall]
    right = np.array((inward[1], -inward[0]))
    face = (plan.length if inward[0] else plan.width) / 2

    def probe(along, up, deep, thick):
        x, y = right * along - np.array(inward) * (face - deep - thick / 2)
        size = np.abs(right * 1.0) + np.abs(np.array(inward) * thick)
        return box((*size, 1.0)).apply_translation((x, y, plan.floor_z + up))

    level, beside = one.low + one.height / 2, one.width / 2 + 2.0
    for along, up in ((one.along - beside, level), (one.along + beside, level), (one.along, one.top + 1.0),
                      (one.along, one.low - 2.0)):
        assert overlap(probe(along, up, 0.05, 1.1), body) == pytest.approx(1.1, abs=0.01)
        assert overlap(probe(along, up, 1.25, 0.7), body) < 0.12    # but for a slope of 45 degrees above
    assert overlap(probe(one.along, level, -1.0, 4.0), body) < TOUCH


@pytest.mark.slow
def test_a_coin_goes_under_the_closed_lid():
    """19.75 mm across and 1.93 mm thick (10 euro cents, from memory), 2.2 mm past the body's face, at an end."""
    plan, body, lid = wagon("demo"), part("demo", "body"), part("demo", "lid")
    for _, wall in plan.body.fittings.notches:
        sign = 1 if wall == "front" else -1
        coin = cylinder(19.75 / 2, 1.93, sections=96).apply_translation(
            (sign * (plan.length / 2 + 19.75 / 2 - 2.2), 0.0, plan.body.top - 1.0))
        assert overlap(coin, body) + overlap(coin, lid) < TOUCH
        assert overlap(coin.apply_translation((0, 14.0, 0)), body) > 1.0    # nowhere but in the notch
    assert plan.body.fittings.notches


@pytest.mark.slow
@pytest.mark.parametrize("source", ["demo", "all"])
def test_vents_are_as_open_as_the_plan_says(source):
    """Open area of both side walls on their middle planes, by sections of the mesh, openings of plugs left out."""
    plan, body = wagon(source), part(source, "body")
    fittings, floor = plan.body.fittings, plan.floor_z
    assert fittings.vents
    bars = [block((x - 0.95, x + 0.95), sorted((sign * plan.width / 2 - sign * 3, sign * plan.width / 2 + sign * 2)),
                  (floor + fittings.vent_low + 0.05, floor + fittings.vent_top - 0.05))
            for x, wall in fittings.vents for sign in [1 if wall == "left" else -1]]
    assert all(overlap(bar, body) < TOUCH for bar in bars)
    drawn = sum(1.9 * (fittings.vent_top - fittings.vent_low - 0.1) for _ in bars)
    assert drawn < fittings.vent_area < 1.07 * drawn


@pytest.mark.slow
@pytest.mark.parametrize("source", ["demo", "all"])
def test_body_prints_without_supports(source):
    plan = wagon(source)
    item = next(item for item in plan.items if item.part == "body")
    printer = load(DEMO).printer if source == "demo" else Printer()
    posed = Posed(PartId("one", "body"), lay(item, part(source, "body"), Printer()), printer)
    assert [(f.check, f.reason) for f in (check(posed) for check in PRINT_CHECKS.values()) if f.verdict != "pass"] == []
    shape = parts.build("body", plan.body)
    assert shape.Volume() == pytest.approx(plan.body.volume, rel=0.03)
    assert shape.Center().z == pytest.approx(plan.body.centroid_z, abs=1.0)


@pytest.mark.parametrize("heat, height, rise", [(1.0, 15.0, 20.0), (0.3, 8.0, 12.0), (5.0, 60.0, 30.0)])
def test_vent_area_balances_buoyancy_and_loss(heat, height, rise):
    """The same air followed step by step: a speed found at which both openings lose the chimney's pressure.
    Density of dry air from the gas law, 101325 Pa and 287.05 J/(kg K); heat 1007 J/(kg K)."""
    outside = 101325 / 287.05 / 303.0
    lift = outside * rise / 303.0 * 9.81 * height * 1e-3
    speed = brentq(lambda v: 2 * 2.8 * outside * v**2 / 2 - lift, 1e-6, 10)
    assert vent_area(heat, height, rise) == pytest.approx(heat / (outside * 1007 * rise * speed) * 1e6, rel=0.01)


def test_higher_body_as_the_remedy_says_is_vented_enough():
    hot = "heat = 1\n"
    tight = {"module": hot, "wagon": "modules = ['box', 'box', 'box', 'box']\nwidth = 60"}
    failing, = (f for f in run(resolve(described(**tight))) if f.check == "warm-module")
    height = cured(resolve(described(**tight)), "warm-module")["wagon[1].height"]
    higher = tight | {"wagon": tight["wagon"] + f"\nheight = {height}"}
    again, = (f for f in run(resolve(described(**higher))) if f.check == "warm-module")
    assert failing.verdict == "fail" and again.verdict == "pass"


@pytest.mark.slow
def test_lamps_go_through_the_sides_where_no_module_is_behind():
    """A 5 mm lamp with 9 mm of legs and wires behind it, in every field that has room; the body still prints."""
    plan = resolve(described(module=MODULES, wagon=f"{WAGON}\nlights = 'lamps'")).wagons[0]
    body, fittings = mesh_of(parts.build("body", plan.body)), plan.body.fittings
    assert 2 <= len(fittings.lamps) <= 2 * len(plan.body.fields(plan.length))
    for x, wall in fittings.lamps:
        side = 1 if wall == "left" else -1
        lamp = cylinder(2.5, 11, sections=64).apply_transform([[1, 0, 0, 0], [0, 0, -1, 0], [0, 1, 0, 0], [0, 0, 0, 1]])
        lamp.apply_translation((x, side * (plan.width / 2 - 5.5), plan.floor_z + fittings.lamp_level))
        assert overlap(lamp, body) < TOUCH
        assert all(overlap(lamp, envelope(plan, placed)) < TOUCH for placed in plan.layout.placed)
    item = next(item for item in plan.items if item.part == "body")
    posed = Posed(PartId("one", "body"), lay(item, body, Printer()), Printer())
    assert [(f.check, f.reason) for f in (check(posed) for check in PRINT_CHECKS.values()) if f.verdict != "pass"] == []
