"""Ball bearings at an axle's ends: seated in the exported holder, off the outer ring with the wheels, on the bill."""

import pytest
from conftest import described
from manifold3d import Manifold

from partgen import parts
from partgen.checks.on_plan import run
from partgen.finding import worst
from partgen.paper.assembly import steps
from partgen.paper.bill import bill
from partgen.plan.trackside import Trackside
from partgen.plan.train import resolve
from partgen.solids.built import stand
from partgen.solids.mesh import mesh_of
from partgen.solids.overlap import solid

TRUE = "bore_offset = 0\npeg_offset = 0"
SIZES = [(10, 4), (7, 3), (6, 2.5)]     # outside x width on an axle of 3 mm (reference tables, from memory: measure)
TOUCH = 0.02            # mm3


def train(outer, width, more="printed = true", wagon=""):
    return resolve(described(printer=TRUE, wagon=wagon, wheelset=(
        f"ends = 'bearing'\nbearing_outer = {outer}\nbearing_width = {width}\n{more}")))


def bar(diameter, start, end):
    """A round bar along y between two places [mm]."""
    body = Manifold.cylinder(end - start, diameter / 2, circular_segments=96)
    return body.rotate((-90, 0, 0)).translate((0, start, 0))


@pytest.mark.slow
@pytest.mark.parametrize("outer, width", SIZES)
def test_bearings_sit_in_the_holder_and_come_in_no_further(outer, width):
    """They go in without force where they belong and half a millimetre further in they do not: what stands down between
    them stops them. The rod turns free; the outer rings fill their seats but for the fit."""
    plan = train(outer, width).wagons[0]
    item = next(item for item in plan.items if item.part == "axle-holder")
    holder, clip = solid(mesh_of(parts.build(item.part, item.plan))), plan.gear.clip
    out = clip.width / 2 + clip.proud
    assert (holder ^ bar(outer - 0.02, out - width, out)).volume() < TOUCH
    assert (holder ^ bar(outer - 0.02, out - width - 0.5, out - 0.5)).volume() > TOUCH, "nothing stops it"
    assert (holder ^ bar(outer + 0.2, out - width, out)).volume() > TOUCH, "it rattles"
    assert (holder ^ bar(3.5, -40, 40)).volume() < TOUCH, "the rod rubs"
    assert worst(f for f in run(train(outer, width)) if f.check in ("snap-force", "snap-strain", "press-fit")) == "pass"


@pytest.mark.slow
@pytest.mark.parametrize("outer, width", SIZES)
def test_a_wheel_pushed_aside_leans_on_the_inner_ring_alone(outer, width):
    """At the end of its play the wheel touches the inner ring, is clear of the outer one (its inner edge taken as
    three quarters of the way out) and of the holder."""
    plan = train(outer, width).wagons[0]
    wheel = next(item for item in plan.items if item.part == "wheel")
    mesh = mesh_of(parts.build(wheel.part, wheel.plan))
    place, clip = wheel.places[0], plan.gear.clip
    left = solid(mesh.copy().apply_transform(stand(place))).translate((-place.x, -clip.end_play / 2 - 0.02, -place.z))
    out = clip.width / 2 + clip.proud
    inner = bar(plan.wheelset.inner_ring, out - width, out) - bar(3, out - width - 1, out + 1)
    edge = 3 + 0.75 * (outer - 3)
    outside = bar(outer, out - width, out) - bar(edge, out - width - 1, out + 1)
    assert (left ^ inner).volume() > 0.01
    assert (left ^ outside).volume() < 1e-6
    item = next(item for item in plan.items if item.part == "axle-holder")
    assert (left ^ solid(mesh_of(parts.build(item.part, item.plan)))).volume() < 1e-6
    assert clip.end_play == pytest.approx(0.4)


def test_bearings_are_bought_and_slid_on_before_the_second_wheel():
    lines = {line.what: line for line in bill(train(7, 3))}
    assert lines["ball bearing"].count == 4 and lines["ball bearing"].size.startswith("3 x 7 x 3 mm")
    assert "shim ring" not in lines and "wheelset" not in lines
    assert any("Slide two bearings on" in step.text for step in steps(train(7, 3)))
    bought = train(7, 3, more="")
    lines = {line.what: line for line in bill(bought)}
    assert lines["shim ring"].count == 4
    wheelsets, = (step for step in steps(bought) if step.title == "one: Bearings onto the axles")
    assert wheelsets.there == ("wheel-jig",) and {"wheel", "shim-ring", "bearing"} <= set(wheelsets.new)
    assert "Draw one wheel off" in wheelsets.text and "a small puller, or with the wheel's back on" in wheelsets.text
    assert {"small puller, or vice and drift", "vice"} <= set(wheelsets.tools)
    last, = (step for step in steps(bought) if step.title == "one: Wheelsets")
    assert "0.6 mm of play" in last.text and "bearing" in last.new
    jig = [item for plan in bought.printed if isinstance(plan, Trackside) for item in plan.items
           if item.part == "wheel-jig"]
    assert len(jig) == 1 and jig[0].plan.slot > 7


@pytest.mark.parametrize("outer, width, standard, size", [
    (10, 4, "DIN 988", "3 x 6 x 0.1 mm"),       # designations of the standard, from memory
    (7, 3, "DIN 988", "3 x 6 x 0.1 mm"),
    (6, 2.5, "", "3 mm inside, at most 3.7 mm outside, 0.1 mm thick"),      # as wide as the bearing itself it would rub
])
def test_shim_rings_are_named_by_their_standard_where_its_ring_is_clear_of_the_outer_one(outer, width, standard, size):
    ring, = (line for line in bill(train(outer, width, more="")) if line.what == "shim ring")
    assert (ring.standard, ring.size) == (standard, size)


@pytest.mark.slow
def test_bogies_take_bearings_too():
    plan = train(7, 3, wagon="length = 220\npivot_spacing = 140").wagons[0]
    bogie = solid(mesh_of(parts.build("bogie", plan.gear.bogie)))
    clip = plan.gear.clip
    out = clip.width / 2 + clip.proud
    for x in (plan.gear.bogie.axle_x, -plan.gear.bogie.axle_x):
        for by, touches in ((0.0, False), (0.5, True)):
            bearing = bar(6.98, out - 3 - by, out - by).translate((x, 0, 0))
            assert ((bogie ^ bearing).volume() > TOUCH) == touches


@pytest.mark.parametrize("more", ["", "printed = true"], ids=["bought", "printed"])
def test_a_tube_goes_over_the_axle_before_its_second_wheel_and_is_seen(more):
    """A closed tube passes no wheel: a bought wheelset gives one up first, whose jig and puller are there, as are those
    for bearings; the wagon's own steps cut as many tubes as the bill has, and their pictures show them."""
    tubed = resolve(described(wheelset=f"ends = 'tube'\ntube_diameter = 5\n{more}"))
    line, = (line for line in bill(tubed) if line.what == "metal tube")
    long = line.size.split(", ")[2].removesuffix(" long")
    step, = (step for step in steps(tubed) if "Cut metal tube" in step.text)
    assert f"of 5 mm to {long}, a piece for each axle" in step.text and {"hacksaw", "file", "vice"} <= set(step.tools)
    assert step.text.index("Cut metal tube") < step.text.index("press")
    off = "Draw one wheel off each axle"
    assert (off in step.text) == ("small puller, or vice and drift" in step.tools) == (not more)
    assert any(item.part == "wheel-jig" for plan in tubed.printed for item in plan.items)
    tried, = (step for step in steps(tubed) if step.title == "Try the jig")
    assert ("Try now whether a wheel comes off" in tried.text) == (not more)
    shown = [step for step in steps(tubed) if "wheel" in step.new and step.wagons]
    assert shown and all("metal-tube" in step.new for step in shown)


def test_what_is_on_an_axle_is_a_thing_of_the_pictures():
    """The wheels' things by name, as many as the bill says: tubes, bearings, and shim rings, which lie between."""
    from partgen.report.wagon_props import wheels_props
    for lines, count in (("ends = 'tube'\ntube_diameter = 5", {"metal-tube": 2}),
                         ("ends = 'bearing'", {"bearing": 4, "shim-ring": 4}),
                         ("ends = 'bearing'\nprinted = true", {"bearing": 4}), ("", {})):
        plan, = resolve(described(wheelset=lines)).wagons
        found = [prop.name for prop in wheels_props(plan)]
        assert {name: found.count(name) for name in set(found) - {"wheel", "axle", "rod"}} == count
        step = next(step for step in steps(resolve(described(wheelset=lines))) if step.title == "one: Wheelsets")
        assert set(found) | {"wheel"} == set(step.new)
