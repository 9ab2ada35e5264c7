"""Ballast: cells in the frame that hold it, on paper and as built, and what it does to a wagon."""

from itertools import combinations
from math import pi, sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plans import cured, flat, made, plan_of, train_of, wagons
from shapely import box
from shapely.geometry import Point
from shapely.ops import unary_union
from solids import as_body, block, posed
from trimesh import Trimesh

from partgen.checks import on_plan
from partgen.checks.printed import PRINT_CHECKS
from partgen.describe.printer_tables import Printer
from partgen.dynamics import ride as rides
from partgen.dynamics.load_states import heaviest, lading, notable, unladen
from partgen.paper.assembly import steps
from partgen.paper.bill import bill
from partgen.paper.cautions import cautions
from partgen.plan.mass import centre
from partgen.plan.mass import loads as masses
from partgen.plan.running_gear.ballast import GRAINS, ROOM, Ballast

STEEL, LOOSE = 7.85e-3, 0.64        # g/mm3; share of balls poured into a wide vessel (Scott 1960, from memory)
M3 = 5.5, 2.4, 2.459                # ISO 4032: across flats, height, least minor diameter [mm], from memory


def findings(train, check):
    return [one for one in on_plan.run(train) if one.check == check]


def test_what_a_cubic_centimetre_weighs_is_on_the_safe_side():
    """Nuts in single rows, flat and corner to corner, in a cell 8 mm wide; balls looser than in a wide vessel."""
    across, high, bore = M3
    nut = STEEL * high * (sqrt(3) / 2 * across**2 - pi / 4 * bore**2)
    assert nut == pytest.approx(0.38, abs=0.03)         # as sold
    assert GRAINS["nuts"].density <= nut / (8.0 * across * 1.5 * high) * 1.5
    assert GRAINS["shot"].density <= 0.9 * LOOSE * STEEL


@pytest.mark.parametrize(("narrow", "said"), [
    (7.2, "nuts or washers, M3 "), (6.9, "nuts, M3 or smaller, no washers"), (6.2, "nuts or washers, M2.5 "),
    (5.2, "nuts or washers, M2 "), (4.8, "nuts, M2 or smaller, no washers"), (3.7, "shot or balls")])
def test_what_is_bought_lies_flat_in_the_narrowest_cell(narrow, said):
    """Over corners of a nut 6.35, 5.77, 4.62 mm (ISO 4032: across flats 5.5, 5, 4), a washer 7, 6, 5 mm (ISO 7089)."""
    wide = ((0.0, 20.0), (0.0, 9.0))
    assert said in Ballast(cells=(wide, ((0.0, 20.0), (0.0, narrow)))).said
    flats = {"M3": (5.5, 7.0), "M2.5": (5.0, 6.0), "M2": (4.0, 5.0)}
    for thread, (across, washer) in flats.items():
        if f"{thread} " in said:
            assert (washer if "washers, " in said else across * 2 / sqrt(3)) < narrow
    assert Ballast(cells=(wide,), of="shot").said.startswith("steel shot")


def test_it_holds_what_is_wished_or_says_how_much():
    for wish, grains in ((30.0, "nuts"), (70.0, "nuts"), (120.0, "shot")):
        held = plan_of({"ballast": wish, "ballast_of": grains}).frame.ballast
        cells = sum(flat(cell).area for cell in held.cells) * held.depth
        assert cells * GRAINS[grains].density >= wish, "rounded corners are less than what is left over"
        assert held.mass == wish and 0 < held.filled <= held.depth
    most = plan_of({}).frame.ballast.most
    assert not findings(train_of({"ballast": int(most)}), "ballast")[0].reason
    short, = findings(train_of({"ballast": int(most) + 20}), "ballast")
    assert short.verdict == "fail" and short.value == pytest.approx(most) and short.limit == int(most) + 20
    assert f"room for {int(most)} g of" in short.reason
    told = cured(train_of({"ballast": int(most) + 20}), "ballast")
    assert told["wagon[1].ballast"] == most // 5 * 5 and told["wagon[1].ballast_of"] == "shot"
    assert not [one for one in findings(train_of({"ballast": int(most) + 20, "ballast_of": "shot"}), "ballast")
                if one.verdict == "fail"]
    assert not findings(train_of({}), "ballast")


def test_a_frame_grows_no_higher_than_it_must():
    bare, some, more = (plan_of({"ballast": wish}).frame for wish in (0.0, 10.0, 75.0))
    assert bare.thickness == some.thickness < more.thickness <= bare.thickness + 8.0 + 1e-9
    assert not bare.ballast.cells and len(some.ballast.cells) < len(more.ballast.cells)
    assert bare.bottom == more.bottom, "it grows upwards: wheels stay as far below it"


@settings(max_examples=60)
@given(wagons(modules=((), ("tray",), ("cell", "eye")), cups=((), ("tea",))))
def test_cells_are_free_and_mirror_each_other(drawn):
    """shapely: no cell meets another, a pocket, a slot, a screw, a pivot, a sensor's way or a hole in the floor; two
    printed lines stay."""
    wish, printer = drawn
    plan = made(({**wish, "ballast": 25.0, "ballast_of": "shot"}, printer))
    frame, lines = plan.frame, 2 * printer.get("line_width", 0.45)
    ballast, cells = frame.ballast, [flat(cell) for cell in frame.ballast.cells]
    if not cells:
        assert ballast.most < 25.0
        return
    other = [*(flat(pocket.spans) for pocket in frame.pockets), *(box(*_bounds(one)) for one in frame.collars),
             *(Point(x, y).buffer(frame.core / 2) for x, y in frame.screws),
             *(flat(slot) for strap in plan.body.fittings.straps for slot in strap.slots)]
    if frame.slide:
        half = frame.slide.slot_width / 2
        other += [box(start, -half, end, half) for start, end in frame.slide.slots]
    assert all(one.distance(two) >= lines - 1e-6 for one, two in combinations(cells, 2))
    assert min(unary_union(other).distance(cell) for cell in cells) >= min(lines, 1.0) - 1e-6
    outline = box(-frame.length / 2, -frame.width / 2, frame.length / 2, frame.width / 2)
    assert all(outline.exterior.distance(cell) >= lines + frame.panel - 1e-6 for cell in cells)
    whole = unary_union(cells)
    assert (whole.centroid.x, whole.centroid.y) == pytest.approx((0.0, 0.0), abs=1e-6)
    under = frame.thickness - ballast.depth - (frame.slide.groove_depth if frame.slide else 0.0)
    assert under >= max(1.2, lines) - 1e-6
    assert all(min(x1 - x0, y1 - y0) < 10.0 for (x0, x1), (y0, y1) in ballast.cells), "as far as the printer bridges"


def _bounds(collar):
    x0, x1, y0, y1 = collar
    return x0, y0, x1, y1


def test_every_load_state_has_it_low_down_and_nothing_printed_weighs_it():
    train, bare = train_of({"ballast": 60.0, "cups": ["tea"]}), train_of({"cups": ["tea"]})
    (plan,), (light,), printer = train.wagons, bare.wagons, train.description.printer
    load, = (one for one in masses(plan, printer) if one.name == "ballast")
    assert (load.mass, load.x, load.y) == (60.0, 0.0, 0.0)
    assert plan.frame.bottom < load.z < plan.frame.top < plan.floor_z
    with_it, without = (heaviest(lading(one, printer)) for one in (plan, light))
    printed = [sum(one.mass for one in masses(one_of, printer) if one.kind == "printed") for one_of in (plan, light)]
    assert with_it - without == pytest.approx(60.0 + printed[0] - printed[1])
    assert abs(printed[0] - printed[1]) < 10.0, "floors and ribs of its cells, no more"
    assert all(state.mass > 60.0 for state in notable(plan, printer))
    assert unladen(plan, printer).bare[:, 0].sum() == pytest.approx(centre(
        [one for one in masses(plan, printer) if one.kind not in ("cup", "liquid")])[0])


def test_it_steadies_a_wagon_and_weighs_on_the_pull():
    tables = {"ride": {"speed": 500.0}}
    heavy, light = (train_of({"ballast": wish, "cups": ["tea", "tea"]}, **tables) for wish in (60.0, 0.0))
    for check in ("tip-curve", "tip-standing"):
        assert findings(heavy, check)[0].value > 1.02 * findings(light, check)[0].value, check
    assert findings(heavy, "axle-load")[0].value > findings(light, "axle-load")[0].value
    assert findings(heavy, "string-line")[0].value < findings(light, "string-line")[0].value
    assert findings(heavy, "coupler-pull")[0].limit > findings(light, "coupler-pull")[0].limit


def test_paper_tells_of_it():
    train = train_of({"ballast": 40.0, "modules": ["cell"]})
    said = {line.what: line for line in bill(train)}
    steel, = (line for what, line in said.items() if what.startswith("steel nuts"))
    assert steel.size == "40 g" and "white wood glue" in said
    titles = [step.title for step in steps(train)]
    at = titles.index("one: ballast into the frame")
    assert "40 g" in steps(train)[at].text and "ballast" in steps(train)[at].new
    assert at < titles.index("one: body onto the frame")
    assert "never lead" in dict(cautions(rides.resolve(train)))["Ballast"]
    assert "Ballast" not in dict(cautions(rides.resolve(train_of({}))))


@given(wish=st.floats(1.0, 60.0), grains=st.sampled_from(["nuts", "shot"]))
@settings(max_examples=12)
def test_no_cell_is_filled_with_less_than_a_piece(wish, grains):
    """An M3 nut weighs 0.38 g (ISO 4032, as sold), a steel ball of 2.5 mm 0.064 g: pi/6 d^3 by 7.85 g/cm3. What little
    ballast leaves empty lies further out than what it fills; that stays balanced, and is what step and picture show."""
    train = train_of({"ballast": wish, "ballast_of": grains})
    held = train.wagons[0].frame.ballast
    called, piece = held.piece
    assert piece == pytest.approx({"M3 nuts": 0.38, "balls of 2.5 mm": STEEL * pi / 6 * 2.5**3}[called], rel=0.01)
    middles = {(round(x0 + x1, 6), round(y0 + y1, 6)) for (x0, x1), (y0, y1) in held.used}
    assert middles == {(-x, -y) for x, y in middles}
    assert held.filled <= held.depth + 1e-9 and set(held.used) <= set(held.cells)
    said = next(step.text for step in steps(train) if "ballast" in step.title)
    if len(held.used) < len(held.cells):
        assert wish < len(held.cells) * piece and "nearest the middle" in said
    assert len(held.used) * piece <= wish
    each = " in each" if len(held.used) > 1 else ""
    assert f"about {max(round(wish / piece / len(held.used)), 1)}{each}, if they are {called}" in said


# ---- as built

WAGONS = {
    "two axles, high": {"ballast": 75.0, "travel": 4.0},
    "sensor and strap": {"ballast": 60.0, "ballast_of": "shot", "modules": ["cell", "eye"]},
    "bogies": {"ballast": 80.0, "wheelbase": 40.0, "pivot_spacing": 118.5},
}


@pytest.mark.slow
@pytest.mark.parametrize("name", WAGONS)
def test_the_built_frame_holds_it_and_nothing_meets_it(name):
    """manifold3d: boxes of the ballast's volume lie in the frame's air, below the body's floor, wherever the holders
    slide; the mesh is short of what the cells take."""
    from partgen import parts
    from partgen.report.wagon_props import _ballast
    from partgen.solids.built import lay
    from partgen.solids.mesh import mesh_of
    train = train_of(WAGONS[name])
    plan, = train.wagons
    assert not plan.wanting
    meshes = {item.name: (item, mesh_of(parts.build(item.part, item.plan))) for item in plan.items
              if item.part in ("frame", "body", "axle-holder", "clamp-bar", "bogie", "sensor-holder")}
    held, frame = plan.frame.ballast, as_body(meshes["frame"][1])
    bottom = plan.frame.top - held.depth
    cells = [block(x1 - x0, y1 - y0, held.depth, (x0, y0, bottom)) for (x0, x1), (y0, y1) in held.cells]
    air = sum((cell - frame).volume() for cell in cells)
    assert air == pytest.approx(held.volume, rel=0.01) and air * GRAINS[held.of].density >= held.mass
    assert held.volume == pytest.approx(ROOM * held.mass / GRAINS[held.of].density, rel=1e-6)
    drawn = [as_body(Trimesh(prop.placed(), prop.faces, process=False)) for prop in _ballast(plan)]
    assert len(drawn) == len(cells) and sum((one ^ frame).volume() for one in drawn) < 1e-3
    for item, mesh in meshes.values():
        if item.part == "frame":
            continue
        for place in item.places:
            slides = item.part in ("axle-holder", "clamp-bar")
            for along in (-plan.gear.travel, 0.0, plan.gear.travel) if slides else (0.0,):
                other = as_body(mesh).rotate((0, 0, place.yaw)).translate((place.x + along, place.y, place.z))
                assert sum((one ^ other).volume() for one in cells) < 1e-3, item.name
    floor = as_body(meshes["body"][1])
    for (x0, x1), (y0, y1) in held.cells:
        over = floor ^ block(x1 - x0, y1 - y0, plan.body.floor, (x0, y0, plan.body.bottom))
        assert over.project().area() == pytest.approx((x1 - x0) * (y1 - y0)), "no hole in the floor over a cell"
    laid = posed(as_body(lay(*meshes["frame"], Printer())))
    assert [(one.check, one.reason) for check in PRINT_CHECKS.values() if (one := check(laid)).verdict != "pass"] == []
    assert meshes["frame"][1].volume == pytest.approx(plan.frame.volume, rel=0.03)
    assert meshes["frame"][1].center_mass[2] == pytest.approx(plan.frame.centroid_z, abs=0.4)
