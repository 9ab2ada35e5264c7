"""STEP files: the CAD kernel's own reader gives back what was meant, whatever the process wrote before."""

from collections import Counter
from functools import cache
from itertools import product
from math import pi
from types import SimpleNamespace

import numpy as np
import pytest
from conftest import DEMO, described
from shapely import Polygon
from wagons import bogie

from partgen.describe.load import load
from partgen.export.bodies import Body
from partgen.export.hardware import hardware_bodies
from partgen.export.step_assembly import wagon_step
from partgen.export.step_text import named, steady
from partgen.export.step_turned import turned_step
from partgen.paper.bill import bought
from partgen.plan.fasteners import fasteners
from partgen.plan.item import Place
from partgen.plan.small_things import hardware
from partgen.plan.train import resolve
from partgen.report.wagon_props import wagon_props

# What the kernel writes, shortened: date, fold and noise as may be.
WRITTEN = """HEADER;
FILE_NAME('x','{date}',('Author'),(
    'maker'),'processor 7.9','kernel','Unknown');
DATA;
#7 = PRODUCT('part','part','',(
  #8));
#8 = CARTESIAN_POINT('',(15.575,{noise},2.E-06));
#9 = CONTEXT('-0.');
ENDSEC;
"""


def test_step_text_is_the_same_whatever_the_kernel_did():
    early = steady(WRITTEN.format(date="2001-02-03T04:05:06", noise="9.843564344345E-16"))
    late = steady(WRITTEN.format(date="2031-02-03T04:05:06", noise="-8.881784197E-16"))
    assert early == late == steady(early)
    assert "(15.575,0.,2.E-06)" in early and "FILE_NAME('part','2000-01-01T00:00:00'" in early and "'-0.'" in early
    called = named(early.encode(), "lid 1.50 é's").decode()
    assert "#7 = PRODUCT('lid 1.50 \\X2\\00E9\\X0\\''s','lid 1.50 \\X2\\00E9\\X0\\''s','',(#8));" in called
    assert "FILE_NAME('lid-1-50-e-s','2000-01-01T00:00:00'" in called
    assert named(named(early.encode(), "it's '' #9"), "lid 1.50 é's").decode() == called


def read(data, path):
    """Return a STEP assembly's name and of every copy its name, its product's number and name, its 3 x 4 place [mm],
    colour and solid, as the kernel's reader has them."""
    from cadquery import Shape
    from OCP.Quantity import Quantity_Color, Quantity_TOC_sRGB
    from OCP.STEPCAFControl import STEPCAFControl_Reader
    from OCP.TCollection import TCollection_ExtendedString
    from OCP.TDataStd import TDataStd_Name
    from OCP.TDF import TDF_Label, TDF_LabelSequence
    from OCP.TDocStd import TDocStd_Document
    from OCP.XCAFApp import XCAFApp_Application
    from OCP.XCAFDoc import XCAFDoc_ColorType, XCAFDoc_DocumentTool, XCAFDoc_ShapeTool

    def called(label):
        name = TDataStd_Name()
        assert label.FindAttribute(TDataStd_Name.GetID_s(), name)
        return name.Get().ToExtString()

    def copy(label):
        product, colour = TDF_Label(), Quantity_Color()
        XCAFDoc_ShapeTool.GetReferredShape_s(label, product)
        solid = XCAFDoc_ShapeTool.GetShape_s(product)
        assert colours.GetColor(solid, XCAFDoc_ColorType.XCAFDoc_ColorSurf, colour)
        place = XCAFDoc_ShapeTool.GetLocation_s(label).Transformation()
        return (called(label), product.Tag(), called(product),
                np.array([[place.Value(row, column) for column in (1, 2, 3, 4)] for row in (1, 2, 3)]),
                colour.Values(Quantity_TOC_sRGB), Shape.cast(solid))

    path.write_bytes(data)
    document = TDocStd_Document(TCollection_ExtendedString("read"))
    XCAFApp_Application.GetApplication_s().InitDocument(document)
    reader = STEPCAFControl_Reader()
    assert reader.ReadFile(str(path)).name == "IFSelect_RetDone" and reader.Transfer(document)
    shapes, colours = (tool(document.Main()) for tool in (XCAFDoc_DocumentTool.ShapeTool_s,
                                                          XCAFDoc_DocumentTool.ColorTool_s))
    free, copies = TDF_LabelSequence(), TDF_LabelSequence()
    shapes.GetFreeShapes(free)
    assert free.Length() == 1
    XCAFDoc_ShapeTool.GetComponents_s(free.Value(1), copies)
    return called(free.Value(1)), [copy(copies.Value(number)) for number in range(1, copies.Length() + 1)]


@pytest.mark.slow
def test_an_assembly_of_step_texts_is_read_with_names_colours_places_and_volumes(tmp_path):
    """A product is there once however often it stands; its own frame stays; names of several letters and signs."""
    from cadquery import Location, Solid, Workplane

    from partgen.export.step import part_step

    block = Workplane().box(30, 20, 10).faces(">Z").workplane().hole(6).edges("|Z").fillet(2).val()
    ball, cone = Workplane().sphere(7).val(), Solid.makeCone(9, 3, 12).moved(Location((5, 0, 0)))
    blue, red = (0.2, 0.4, 0.6), (0.8, 0.1, 0.1)
    texts = {"block": part_step("b", block, blue), "ball": part_step("o", ball, red), "cone": part_step("c", cone, red)}
    bodies = [Body(name, kind, texts[kind], place, blue if kind == "block" else red) for name, kind, place in (
        ("ball", "ball", Place(0, 40, 0, -30)), ("block 1", "block", Place(50, 2.123456789, 3, 90)),
        ("it's #7, #8; 茶", "block", Place(-50, 2, 3, 180)), ("cone", "cone", Place(0, -40, 1 / 3, 17.3)),
        ("block 3", "block", Place()))]
    data = wagon_step("Crème 2", bodies)
    assert part_step("b", block, blue) == texts["block"] and wagon_step("Crème 2", bodies) == data
    for _ in range(10):                                        # past a counter of two digits
        assert part_step("o", ball, red) == texts["ball"]
    numbers = [int(line[1:].split(b" ")[0]) for line in data.splitlines() if line.startswith(b"#")]
    assert numbers == list(range(1, len(numbers) + 1)) and max(data) < 128 and data.count(b" PRODUCT(") == 1 + 3
    assert data.count(b"APPLICATION_CONTEXT(") == 1 and data.count(b" PRODUCT('block',") == 1
    name, copies = read(data, tmp_path / "five.step")
    assert name == "Crème 2" and [copy[0] for copy in copies] == [body.name for body in bodies]
    assert [copy[2] for copy in copies] == [body.kind for body in bodies]
    assert len({copy[1] for copy in copies}) == 3
    # Box less bore less the four corners outside their fillets; sphere; frustum.
    true = {"block": 30 * 20 * 10 - pi * 9 * 10 - (4 - pi) * 4 * 10, "ball": 4 / 3 * pi * 7 ** 3,
            "cone": pi * 12 / 3 * (9 ** 2 + 9 * 3 + 3 ** 2)}
    for (*_, place, colour, solid), body in zip(copies, bodies, strict=True):
        yaw = np.radians(body.place.yaw)
        turn = [(np.cos(yaw), -np.sin(yaw), 0), (np.sin(yaw), np.cos(yaw), 0), (0, 0, 1)]
        assert place == pytest.approx(np.column_stack([turn, (body.place.x, body.place.y, body.place.z)]), abs=1e-9)
        assert colour == pytest.approx(body.colour, abs=1e-4)
        assert solid.ShapeType() == "Solid" and solid.isValid()
        assert solid.Volume() == pytest.approx(true[body.kind], rel=1e-6)
        assert solid.Center().x == pytest.approx(5 if body.kind == "cone" else 0, abs=1e-6)


NAMES = ["茶" * 30, "चाय" * 10, "Чайный поезд " * 2 + "чай", "شاي بالنعناع " * 2 + "شاي",
         "it's a \\ tea-wagon; x" + " " * 9,
         "x" * 55 + "  ;    two blanks where a line is folded;    " * 2 + "x", "茶" + "\N{CUP WITH STRAW}" * 29]
"""Of 30 letters in five scripts; what the format has signs of its own for; what a fold of lines would eat."""


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_step_keeps_names_of_every_script(tmp_path, name):
    """The kernel's reader gives them back, of assembly, part and single part alike."""
    from cadquery import Solid

    from partgen.export.step import part_step

    data = part_step(name, Solid.makeBox(1, 1, 1), (0.5, 0.5, 0.5))
    whole = wagon_step(name, [Body(f"{name} 1", name, data, Place(), (0.5, 0.5, 0.5))])
    called, ((copy, _, product, *_),) = read(whole, tmp_path / "one.step")
    assert called == product == name and copy == f"{name} 1"
    [spelt] = [line for line in data.splitlines() if b" PRODUCT(" in line]
    assert max(data) < 128 and min(data) >= 10 and whole.count(spelt.partition(b"PRODUCT(")[2][:-7]) == 2


# ---- bought things -------------------------------------------------------------------------------------------

OUTLINES = {
    "disc": ((0, -1.5), (3, -1.5), (3, 1.5), (0, 1.5)), "ring": ((1, 0), (2, 0), (2, 1), (1, 1)),
    "widening": ((0, 0), (1, 0), (3, 2), (0, 2)), "pointed": ((0, -4), (3, 0), (3, 2), (0, 6)),
    "cord": ((2, 0), (3, 0), (4, 1), (4, 2), (3, 3), (2, 3), (1, 2), (1, 1)),
    "sunk": ((0, -10), (1.5, -10), (1.5, -2), (3, -0.5), (0, -0.5))}


@pytest.mark.slow
def test_a_turned_solid_is_sound_and_as_large_as_pappus_rule_says(tmp_path):
    """The kernel's own check (BRepCheck) passes every face; one turned inside out would have less than no volume."""
    kinds = {name: turned_step(name, outline, (0.1, 0.5, 0.9)) for name, outline in OUTLINES.items()}
    bodies = [Body(name, name, text, Place(), (0.1, 0.5, 0.9)) for name, text in kinds.items()]
    for name, _, kind, _, colour, solid in read(wagon_step("turned", bodies), tmp_path / "turned.step")[1]:
        section = Polygon(OUTLINES[name])
        assert solid.isValid() and solid.ShapeType() == "Solid" and kind == name
        assert solid.Volume() == pytest.approx(2 * pi * section.centroid.x * section.area, rel=1e-9)
        box, (_, low, wide, high) = solid.BoundingBox(), section.bounds
        assert (box.xmin, box.xmax, box.zmin, box.zmax) == pytest.approx((-wide, wide, low, high), abs=1e-6)
        assert colour == pytest.approx((0.1, 0.5, 0.9), abs=1e-4)


WAGONS = {
    "bearings": {"wagon": 'modules = ["box"]', "wheelset": 'ends = "bearing"'},
    "tubes": {"wagon": 'modules = ["box"]\nscrew = "M2"', "wheelset": 'ends = "tube"'},
    "pins": {"wagon": 'cups = ["tea"]', "wheelset": 'ends = "pin"\nover_points = 49'},
    "rods": {"wagon": 'cups = ["tea"]', "wheelset": 'ends = "bearing"\nprinted = true\nring = 1.0'}}
KINDS = (*WAGONS, "bogies", "demo")         # the demo's first wagon has a sensor, with a screw from the left


@cache
def planned(kind):
    return {"bogies": bogie, "demo": lambda: resolve(load(DEMO))}.get(
        kind, lambda: resolve(described(**WAGONS[kind])))().wagons[0]


@pytest.mark.parametrize("kind", KINDS)
def test_wheels_magnets_and_screws_are_there_as_often_as_on_the_bill(kind):
    plan = planned(kind)
    there = Counter(body.name.rpartition(" ")[0] for body in hardware_bodies(plan))
    on_bill = Counter()
    for line in bought(plan):
        if line.shelf in ("wheels", "magnets", "fasteners"):
            on_bill[line.what] += line.count
    assert there == on_bill and len(there) > 4
    sizes = {f"{line.what} {line.size}" for line in bought(plan) if "screw" in line.what}
    assert sizes == {body.kind for body in hardware_bodies(plan) if "screw" in body.kind}


PICTURED = {"wheelset": "axle", "steel rod, round and straight": "rod", "ball bearing": "bearing",
            "rubber ring": "rubber-ring", "disc magnet, axially magnetised": "magnet"}


def reach(points):
    """Return from where to where [mm] points (n, 3) reach along x, y, z."""
    return np.array([np.min(points, axis=0), np.max(points, axis=0)])


def in_order(boxes):
    return sorted(boxes, key=lambda box: tuple(box.mean(axis=0).round(3)))


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_bought_things_stand_where_pictures_and_screws_say(kind, tmp_path):
    """As the kernel reads them: sound, about the same middles and as long as what is pictured, with rounded edges; a
    wheelset's wheels and axle are one body, on the rails with its treads. A screw's tip is where the plan has it."""
    plan = planned(kind)
    boxes, tips = {}, []
    for name, _, _, place, _, solid in read(wagon_step("one", hardware_bodies(plan)), tmp_path / "one.step")[1]:
        assert solid.isValid() and solid.Volume() > 0
        what, own = name.rpartition(" ")[0], solid.BoundingBox()
        corners = [*product((own.xmin, own.xmax), (own.ymin, own.ymax), (own.zmin, own.zmax), (1.0,))]
        boxes.setdefault(what, []).append(reach(corners @ place.T))
        tips += [tuple((place @ (0, 0, own.zmin, 1)).round(5) + 0.0)] if "screw" in what else []
    shown = {}
    for prop in wagon_props(SimpleNamespace(standing=lambda plan: ()), plan):
        shown.setdefault(prop.name, []).append(reach(prop.placed()))
    for what in boxes.keys() & PICTURED.keys():
        found, pictured = in_order(boxes[what]), in_order(shown[PICTURED[what]])
        assert np.mean(found, axis=1) == pytest.approx(np.mean(pictured, axis=1), abs=1e-6), what
        assert np.ptp(found, axis=1)[:, 1] == pytest.approx(np.ptp(pictured, axis=1)[:, 1], abs=0.1), what
    for box in boxes.get("wheelset", ()):
        assert box[0, 2] == pytest.approx((plan.wheelset.tread_diameter - plan.wheelset.flange_diameter) / 2)
    assert sorted(tips) == sorted(tuple(np.round(one.along(one.length), 5) + 0.0) for one in fasteners(plan))
    middles = sorted((what, *np.round(middle, 4)) for what, _, middle in hardware(plan) if what in ("nut", "washer"))
    assert middles == sorted((what, *(box.mean(axis=0).round(4) + 0.0)) for what in ("nut", "washer")
                             for box in boxes.get(what, ()))
