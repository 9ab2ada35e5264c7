"""Name plates printed apart: letters begin where a layer ends, the plate goes into its recess, and it is told how.

Sections of the meshes are held to the font's outlines and to each other by shapely.
"""

import numpy as np
import pytest
from conftest import described
from msgspec.structs import replace
from plans import cured
from shapely import Point, Polygon, box
from shapely.affinity import rotate, scale
from solids import print_faults
from test_plate import found, typeset, wagon
from trimesh import creation

from partgen import parts
from partgen.describe.printer_tables import Printer
from partgen.errors import DescriptionError
from partgen.finding import worst
from partgen.identity import PartId
from partgen.paper.assembly import steps
from partgen.paper.bill import bill
from partgen.paper.plates import Batch, arrange
from partgen.plan.body.shell import HEAD_ROOM
from partgen.plan.train import resolve
from partgen.printing.posed import Posed
from partgen.solids.built import lay, stand
from partgen.solids.mesh import mesh_of

APART = 'plate_print = "apart"'
COARSE = "nozzle = 0.6\nline_width = 0.48\nlayer = 0.28"


def level(mesh, z):
    """A mesh's section at z [mm], as seen from above."""
    cut = Polygon()
    for ring in mesh.section((0, 0, 1), (0, 0, z)).to_2D(to_2D=np.eye(4))[0].polygons_closed:
        cut = cut.symmetric_difference(Polygon(ring.exterior))
    return cut


def drawn(plan, name):
    item = next(item for item in plan.items if item.part == name)
    return item, mesh_of(parts.build(name, item.plan))


# The plan

@pytest.mark.parametrize("layer, base, letters", [(0.08, 12, 6), (0.15, 7, 3), (0.2, 5, 2), (0.28, 4, 1), (0.45, 3, 1)])
def test_base_and_letters_are_whole_layers(layer, base, letters):
    """By hand: a base of two lines, 0.96 mm, or more, letters of 0.5 mm at most but in one layer at least."""
    printer = f"nozzle = 0.6\nline_width = 0.48\nlayer = {layer}"
    plan = wagon("TEA", f"{APART}\nscrew = 'M2'\nwall = 3.4\nheight = 50", printer=printer)
    part, places = plan.body.name_plates
    assert part.change == (base, pytest.approx(base * layer)) and len(places) == 2
    assert (part.size[1], part.plate.relief) == pytest.approx(((base + letters) * layer, letters * layer))


def test_a_plate_on_the_wall_changes_no_filament():
    plan = wagon("TEA")
    assert plan.body.name_plates is None and {item.plan.change for item in plan.items} == {None}


def test_too_thin_a_wall_for_a_recess_is_told_and_its_remedy_helps():
    """By hand: 1.0 and 0.4 mm of plate, 0.05 mm of glue and two lines of 0.45 mm behind them: 2.35 mm."""
    failing, = found("TEA", f"{APART}\nwall = 1.8")
    assert failing.verdict == "fail" and (failing.value, failing.limit) == pytest.approx((0.9, 1.45))
    assert "to sink a plate into, which takes 1.45 mm" in failing.reason
    assert cured(resolve(described(wagon=f'plate = "TEA"\n{APART}\nwall = 1.8')), "name-plate")["wagon[1].wall"] == 2.35
    assert worst(found("TEA", f"{APART}\nwall = 2.35")) == worst(found("TEA", "wall = 1.8")) == "pass"


THICK = "nozzle = 0.6\nline_width = 0.55\nlayer = 0.2"


@pytest.mark.parametrize("wall, verdict", [(2.7, "fail"), (2.75, "pass"), (3.5, "pass"), (4.0, "pass")])
def test_a_thicker_wall_takes_a_plate_between_the_ways_of_screws_heads(wall, verdict):
    """By hand: 1.2 and 0.4 mm of plate, 0.05 of glue and two lines of 0.55 mm: 2.75 mm; a screw's head leaves 2.39 mm
    or less of a wall thicker than that, and there no plate comes."""
    lines = f"{APART}\nheight = 30\nwall = {wall}"
    finding, = found("TEA", lines, printer=THICK)
    body = wagon("TEA", lines, printer=THICK).body
    assert finding.verdict == verdict and body.flute > 0.3 and body.wall - body.flute == pytest.approx(2.39, abs=0.01)
    assert verdict == "pass" or f"a wall of {wall:.2f} mm leaves" in finding.reason
    ways = [Point(x, -abs(y)).buffer(body.cone / 2 + HEAD_ROOM) for x, y in body.screws]
    for one in body.nameplate.tablets:
        half, deep = body.nameplate.size[0] / 2, body.nameplate.deep
        sunk = box(one.along - half, -body.width / 2, one.along + half, deep - body.width / 2)
        assert min(map(sunk.distance, ways)) > 2 * 0.55


def test_a_plate_with_no_room_between_the_ways_of_screws_heads_says_so():
    finding, = found("THE READING TABLES", f"{APART}\nwall = 3.5\nheight = 30", printer=THICK)
    assert finding.verdict == "fail"
    assert "free of openings and of the ways of screws' heads down the wall" in finding.reason


def test_a_way_to_print_no_plate_is_a_fault():
    with pytest.raises(DescriptionError, match="plate_print is about a name plate, but the wagon has none"):
        described(wagon=APART)


# What is told, bought and laid

def test_step_and_bill_say_when_to_change_and_what_holds_it():
    train = resolve(described(wagon=f'plate = "TEA"\n{APART}\nwall = 2.4'))
    step, = (step for step in steps(train) if "name-plate" in step.new)
    assert "after layer 5, at 1.00 mm, change the filament" in step.text
    second, = (line for line in bill(train) if line.use == "letters of the name plates")
    assert "second colour" in second.what
    line, = (line for line in bill(train) if line.use == "behind each name plate")
    assert line.count == 2 and line.shelf == "glue"


def test_what_changes_its_filament_shares_no_bed_with_what_does_not():
    one = Batch("box", creation.box((20, 10, 1)), 2, "green")
    plates, left = arrange([one, replace(one, name="plate", change=(3, 0.6)),
                            replace(one, name="more", change=(2, 0.6)),
                            replace(one, name="other", change=(3, 0.6))], (180.0, 180.0))
    assert [(set(plate.counts), plate.change) for plate in plates] == [
        ({"box"}, None), ({"plate", "other"}, (3, 0.6)), ({"more"}, (2, 0.6))] and not left
    assert [plate.how.split(", change")[0] for plate in plates] == [
        "", "after layer 3, at 0.60 mm", "after layer 2, at 0.60 mm"]


# The solids

@pytest.mark.slow
@pytest.mark.parametrize("text, lines, fine", [
    ("TEA 4", "sides = 'planked'\nwall = 2.4", ""),
    ("TEA", "wall = 3.5\nheight = 30", "nozzle = 0.6\nline_width = 0.55\nlayer = 0.2"),
    ("Å & B", "sides = 'panelled'\nwall = 2.6\nscrew = 'M2'\nheight = 60\nlength = 150", COARSE)])
def test_letters_begin_at_the_layer_and_the_plate_goes_into_its_recess(text, lines, fine):
    description = described(wagon=f'plate = "{text}"\n{APART}\n{lines}', printer=fine)
    plan = resolve(description).wagons[0]
    assert plan.body.nameplate.tablets
    (item, mesh), (body_item, body) = drawn(plan, "name-plate"), drawn(plan, "body")
    for one, whole in ((item, mesh), (body_item, body)):
        assert whole.is_watertight and whole.is_winding_consistent and whole.body_count == 1
        assert print_faults(Posed(PartId("one", one.name), lay(one, whole, Printer()), description.printer)) == []
    assert item.plan.volume == pytest.approx(mesh.volume, rel=0.04)
    assert plan.body.volume == pytest.approx(body.volume, rel=0.05)

    flat, (number, z), plate = lay(item, mesh, Printer()), item.plan.change, item.plan.plate
    flat.apply_translation(-flat.bounds.mean(axis=0) * (1, 1, 0))
    assert z == pytest.approx(number * description.printer.layer)
    long, high = plate.size
    ground, over = level(flat, z - 0.01), level(flat, z + 0.01)
    assert ground.area == pytest.approx(long * high, rel=0.02), "up to the change a base from edge to edge"
    one, = (one for one in plan.body.nameplate.tablets if one.wall == "left")
    wished = typeset(plate, replace(one, along=0.0, z=0.0)).buffer(plate.relief / 2, join_style="mitre")
    apart = [over.symmetric_difference(shape).area / wished.area
             for shape in (rotate(wished, 180, origin=(0, 0)), scale(wished, -1, 1, origin=(0, 0)))]
    assert apart[0] < 0.06 < 0.3 < apart[1], f"above it letters alone, read from above: {apart}"
    assert flat.bounds[1][2] == pytest.approx(z + plate.relief)

    for place in item.places:
        there, side = mesh.copy().apply_transform(stand(place)), np.sign(place.y)
        assert max(side * there.vertices[:, 1]) == pytest.approx(plan.width / 2), "flush with the posts"
        ahead = np.array([[1.0, 0, 0, 0], [0, 0, 1, 0], [0, -1, 0, 0], [0, 0, 0, 1]])
        ground = side * (plan.width / 2 - plate.deep + 1e-3)
        wall = level(body.copy().apply_transform(ahead), -ground)
        outline = box(*there.bounds[0][[0, 2]], *there.bounds[1][[0, 2]])
        free = box(*wall.bounds).intersection(outline.buffer(2.0)).difference(wall)
        assert free.area > 0.98 * outline.area
        play = (0.35 + description.printer.peg_offset + description.printer.bore_offset) / 2
        edges = np.subtract(outline.bounds, free.bounds) * (1, 1, -1, -1)
        assert edges == pytest.approx([play] * 4, abs=5e-3), "no more and no less than a sliding fit all round"
        behind = min(side * there.vertices[:, 1]) - (plan.width / 2 - plate.deep)
        assert behind == pytest.approx(0.05), "room for the glue"
