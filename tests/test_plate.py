"""Name plates: the letters' table against matplotlib's font, room and legibility, and what is read on the mesh.

The font's outlines are taken apart by shapely (`typeface.py`); the parts take them through manifold3d.
"""

from itertools import pairwise

import numpy as np
import pytest
import shapely
import typeface
from conftest import described
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import astuple
from plans import cured
from shapely import Polygon, box
from shapely.affinity import scale, translate
from solids import print_faults
from test_fittings import MODULES, WAGON

from partgen import parts
from partgen.checks.on_plan import every, run
from partgen.describe.printer_tables import Printer
from partgen.describe.wagon_tables import PLATE_LETTERS
from partgen.errors import DescriptionError
from partgen.finding import worst
from partgen.identity import PartId
from partgen.lettering import raised
from partgen.plan.body.fittings import VENT
from partgen.plan.body.nameplate import FOOT_GAP, highest_relief, least, tablet
from partgen.plan.body.typeface import letters
from partgen.plan.train import resolve
from partgen.printing.posed import Posed
from partgen.solids.built import lay
from partgen.solids.mesh import mesh_of

LONG = "THE LONG READING TABLES"
LETTERS = letters()


def wagon(text, lines="", **tables):
    return resolve(described(wagon=f"plate = {text!r}\n{lines}", **tables)).wagons[0]


def found(text, lines="", **tables):
    return [f for f in run(resolve(described(wagon=f"plate = {text!r}\n{lines}", **tables))) if f.check == "name-plate"]


# The table

def test_table_has_exactly_what_a_description_may_ask_for():
    assert set(LETTERS) | {" "} == set(PLATE_LETTERS)


@pytest.mark.parametrize("one", LETTERS)
def test_table_agrees_with_the_font(one):
    assert astuple(LETTERS[one]) == pytest.approx(typeface.row(one), abs=1.5e-3)


@pytest.mark.parametrize("one", LETTERS)
@pytest.mark.parametrize("height", [0.0, 6.0, 10.0])
def test_raised_letters_have_the_fonts_faces_and_ground_between_their_feet(one, height):
    """At the least legible height with 0.45 mm lines, and at the largest."""
    height = max(height, least(one, 0.9))
    relief = min(0.5, highest_relief(one, height))
    feet, faces = (shapely.union_all([Polygon(block.outline[k], [ring[k] for ring in block.counters])
                                      for block in raised(one, height, relief)]) for k in (0, 1))
    assert feet.is_valid and faces.is_valid and faces.within(feet)
    drawn = scale(typeface.letter(one), height, height, origin=(0, 0))
    assert faces.symmetric_difference(drawn).area < 0.05 * drawn.area
    assert typeface.across(scale(drawn, 1 / height, 1 / height, origin=(0, 0)), -1) * height > 0.9 - 2e-3 * height
    assert len(shapely.get_parts(feet)) == len(shapely.get_parts(drawn))
    assert sum(len(part.interiors) for part in shapely.get_parts(feet)) == sum(
        len(part.interiors) for part in shapely.get_parts(drawn))
    between = [one.distance(other) for one, other in pairwise(shapely.get_parts(feet))]
    assert min(between, default=1.0) > FOOT_GAP - 0.1
    for block in raised(one, height, relief):
        for foot, face in (block.outline, *block.counters):
            way = np.roll(foot, -1, axis=0) - foot
            inward = np.cross(way, face - foot) / np.linalg.norm(way, axis=1)
            assert inward == pytest.approx(relief, abs=1e-6), "every flank slopes at 45 degrees"


# The plan

def test_size_by_hand():
    """TEA from the font's own units, capitals 1493 high: T 1377, E 1061, A 1565 of ink, two gaps of a quarter."""
    assert tablet("TEA") == pytest.approx(((1377 + 1061 + 1565) / 1493 + 2 * 0.25 + 2 * 0.4, 1.6), abs=3e-3)
    assert least("KX", 0.9) == pytest.approx((0.3 * (2.43 + 1.889) + 0.2) / 0.25)       # their feet's sharp corners
    assert least("8", 0.9) == pytest.approx(0.9 / 0.162, abs=0.01)      # its waist


def test_small_letters_and_spare_spaces_make_the_same_plate():
    assert wagon(" tea  room ").body.nameplate == wagon("TEA ROOM").body.nameplate
    assert wagon("").body.nameplate is None


@pytest.mark.parametrize("text, said", [("café ☕", r"has '☕', which"), ("TEA/COFFEE", r"has '/', which"),
                                        ("\\t", r"plate"), ("   ", r"has no letter"), ("A" * 25, r"at most 24|24")])
def test_what_cannot_be_lettered_is_told(text, said):
    with pytest.raises(DescriptionError, match=said) as told:
        described(wagon=f'plate = "{text}"')
    assert "wagon[1].plate" in str(told.value)


def rectangles(body, wall):
    """What vents, openings and lamps take of a wall, each as a shapely box; along it to the right seen from outside."""
    fitted, floor, sign = body.fittings, body.bottom + body.floor, -1 if wall == "left" else 1
    for o in fitted.openings:
        if o.wall == wall:
            yield box(o.along - o.width / 2, floor + o.low, o.along + o.width / 2, floor + o.low + o.height + o.gable)
    for x, side in fitted.vents:
        if side == wall:
            yield box(sign * x - VENT / 2, floor + fitted.vent_low, sign * x + VENT / 2, floor + fitted.vent_top)
    for x, side in fitted.lamps:
        if side == wall:
            yield box(sign * x - 2.6, floor + fitted.lamp_level - 2.6, sign * x + 2.6, floor + fitted.lamp_level + 3.7)


@given(text=st.text(PLATE_LETTERS.strip(), min_size=1, max_size=24), lights=st.sampled_from(["none", "lamps", "strip"]),
       sides=st.sampled_from(["planked", "panelled", "plain"]), room=st.integers(0, 60), high=st.integers(0, 20))
@settings(max_examples=60)
def test_plates_keep_clear_or_are_refused(text, lights, sides, room, high):
    lines = f"{WAGON}\nsides = '{sides}'\nlights = '{lights}'\n"
    lines += f"length = {190 + room}\nheight = {34 + high}"
    body = resolve(described(module=MODULES, wagon=f'plate = "{text}"\n{lines}')).wagons[0].body
    plate = body.nameplate
    assert bool(plate.tablets) == (plate.letter >= plate.least - 1e-9)
    for one in plate.tablets:
        (long, tall), frame = plate.size, plate.frame
        sunk = box(one.along - long / 2, one.z - tall / 2, one.along + long / 2, one.z + tall / 2)
        assert body.field_z[0] - 1e-6 < sunk.bounds[1] and sunk.bounds[3] < body.field_z[1] + 1e-6
        assert sunk.bounds[2] + frame < body.length / 2 - body.corner
        assert min((sunk.distance(taken) for taken in rectangles(body, one.wall)), default=9.0) > frame + 1.0
        assert lights != "strip" or sunk.bounds[3] < body.top - 5.0, "as far as a lid's rim a valance hangs before it"
        ink = sum(LETTERS[c].width for c, *_ in plate.placed) * plate.letter
        assert ink < long and plate.letter * min(LETTERS[c].stroke for c, *_ in plate.placed) > 0.9 - 1e-6


@pytest.mark.parametrize("text, lines, path", [
    (LONG, "length = 130", "plate"), (LONG, "length = 130", "length"), ("TEA", "height = 10", "height"),
    ("TEA", "wall = 0.9", "wall")])
def test_what_is_found_helps(text, lines, path):
    failing, = found(text, lines)
    assert failing.verdict == "fail"
    told = cured(resolve(described(wagon=f'plate = "{text}"\n{lines}')), "name-plate")[f"wagon[1].{path}"]
    better = (told, lines) if path == "plate" else (text, f"{path} = {told}")
    assert worst(found(*better)) == "pass"


def test_thick_lines_want_large_letters():
    """0.8 mm lines: the thinnest stroke of TEA, 0.186 of its height, is 1.6 mm from 8.6 mm on."""
    coarse = {"printer": "nozzle = 0.8\nline_width = 0.8\nlayer = 0.3"}
    finding, = found("TEA", "wall = 2.4\nheight = 30", **coarse)
    assert finding.limit == pytest.approx(1.6 / 0.186, abs=0.02) and finding.verdict == "pass"
    low, = found("TEA", "wall = 2.4", **coarse)
    assert low.verdict == "fail" and "8.6" in low.reason and "mm free of openings, and" in low.reason


# The part

def seen(mesh, plan, wall):
    """The section through the letters of a wall, as seen from outside, its middle at x = 0, z over rail top."""
    side = 1 if wall == "left" else -1
    path = mesh.section((0, 1, 0), (0, side * (plan.width / 2 - plan.body.nameplate.relief / 2), 0))
    turn = [[-side, 0, 0, 0], [0, 0, 1, 0], [0, side, 0, 0], [0, 0, 0, 1]]
    cut = Polygon()
    for ring in path.to_2D(to_2D=turn)[0].polygons_closed:
        cut = cut.symmetric_difference(Polygon(ring.exterior))
    return cut


def typeset(plate, one):
    """The text set from matplotlib's outlines, letter after letter, at half the relief: 0.5 relief larger all round."""
    x, size, letters = 0.0, plate.letter, []
    for c in plate.text:
        if c != " ":
            letters.append(translate(scale(typeface.letter(c), size, size, origin=(0, 0)), x))
        x += ((0.25 if c == " " else LETTERS[c].width) + 0.25) * size
    line = shapely.union_all(letters)
    across, up = ((line.bounds[k] + line.bounds[k + 2]) / 2 for k in (0, 1))
    return translate(line, one.along - across, one.z - up).buffer(plate.relief / 2, join_style="mitre")


@pytest.fixture(scope="module")
def fitted():
    plan = wagon("TEA 49", WAGON, module=MODULES)
    return plan, mesh_of(parts.build("body", plan.body))


@pytest.mark.slow
def test_letters_read_from_outside_on_both_sides(fitted):
    plan, mesh = fitted
    for one in plan.body.nameplate.tablets:
        wished, (long, tall) = typeset(plan.body.nameplate, one), plan.body.nameplate.size
        ground = box(one.along - long / 2 + 1, one.z - tall / 2 + 1, one.along + long / 2 - 1, one.z + tall / 2 - 1)
        read = seen(mesh, plan, one.wall).intersection(ground)
        apart = [read.symmetric_difference(shape).area / wished.area
                 for shape in (wished, scale(wished, -1, 1, origin=(one.along, one.z)))]
        assert apart[0] < 0.05 and apart[1] > 0.5, f"{one.wall}: {apart}"


def judged(plan, mesh, printer):
    item = next(item for item in plan.items if item.part == "body")
    posed = Posed(PartId("one", "body"), lay(item, mesh, Printer()), printer)
    return print_faults(posed)


@pytest.mark.slow
@pytest.mark.parametrize("text, lines, fine", [
    ("TEA 49", "", ""), ("Å & ÖRE", "sides = 'panelled'\nlength = 150\nheight = 30", ""),
    ("BRASSERIE", "sides = 'plain'\nlength = 130", ""),
    ("QUAY JOB", "modules = ['box']\nlights = 'lamps'\nwall = 1.4\nlength = 160", ""),
    ("LIT", "modules = ['box']\nlights = 'strip'\nwall = 3\nheight = 40",
     "nozzle = 0.8\nline_width = 0.8\nlayer = 0.3")])
def test_lettered_bodies_print_and_weigh_what_the_plan_says(text, lines, fine):
    description = described(wagon=f'plate = "{text}"\n{lines}', printer=fine)
    plan = resolve(description).wagons[0]
    assert plan.body.nameplate.tablets
    shape = parts.build("body", plan.body)
    mesh = mesh_of(shape)
    assert mesh.is_watertight and mesh.is_winding_consistent and mesh.body_count == 1
    assert mesh.volume == pytest.approx(shape.Volume(), rel=1e-3)
    assert judged(plan, mesh, description.printer) == []
    bare = resolve(described(wagon=lines, printer=fine)).wagons[0].body
    taken = mesh_of(parts.build("body", bare)).volume - mesh.volume
    assert bare.volume - plan.body.volume == pytest.approx(taken, abs=0.25 * abs(taken) + 25)
    assert np.ptp(mesh.vertices[:, 1]) == pytest.approx(plan.width, abs=1e-3), "nothing stands out"


@pytest.mark.slow
@given(text=st.text(PLATE_LETTERS.strip(), min_size=1, max_size=14),
       sides=st.sampled_from(["planked", "panelled", "plain"]), length=st.integers(100, 200),
       height=st.integers(14, 50), wall=st.sampled_from([1.2, 1.6, 2.0, 3.2]),
       line=st.sampled_from([0.35, 0.45, 0.6]))
@settings(max_examples=12)
def test_any_text_is_refused_or_builds(text, sides, length, height, wall, line):
    lines = f"sides = '{sides}'\nlength = {length}\nheight = {height}\nwall = {wall}"
    description = described(wagon=f'plate = "{text}"\n{lines}', printer=f"line_width = {line}")
    plan = resolve(description).wagons[0]
    verdict = worst(f for f in every(resolve(description)) if f.check == "name-plate")
    assert (verdict == "pass") == bool(plan.body.nameplate.tablets)
    mesh = mesh_of(parts.build("body", plan.body))
    assert mesh.is_watertight and mesh.is_winding_consistent and mesh.body_count == 1 and mesh.volume > 0
    assert judged(plan, mesh, description.printer) == [] or verdict == "fail"


@pytest.mark.slow
def test_letters_are_the_same_on_every_run(fitted):
    plan, mesh = fitted
    raised.cache_clear()
    again = mesh_of(parts.build("body", plan.body))
    assert again.vertices.tobytes() == mesh.vertices.tobytes() and again.faces.tobytes() == mesh.faces.tobytes()
