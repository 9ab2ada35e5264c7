"""Printed wheels and their jig: measured on the meshes against the figures of the wheelset that the checks use, the
press fit against Lame's equations solved numerically, and what is bought and done for them."""

from functools import cache
from math import atan, cos, degrees, pi, radians, sin, tan

import numpy as np
import pytest
from conftest import described
from hypothesis import given, settings
from hypothesis import strategies as st
from plans import cured, train_of
from scipy.integrate import solve_bvp
from shapely import LineString, Polygon, box
from solids import print_faults

from partgen import parts
from partgen.checks.on_plan import run
from partgen.describe import presets
from partgen.describe.printer_tables import Printer
from partgen.finding import worst
from partgen.formulas.press import hub_pressure, slip_force
from partgen.identity import PartId
from partgen.paper.assembly import steps
from partgen.paper.bill import bill
from partgen.plan.mass import loads
from partgen.plan.train import resolve
from partgen.printing.posed import Posed
from partgen.solids.built import lay, stand
from partgen.solids.mesh import mesh_of
from partgen.solids.overlap import solid

TRUE = "bore_offset = 0\npeg_offset = 0"
RUBBER = {"wheelset": "printed = true\nring = 1.2", "printer": TRUE}
LEANING = {"wheelset": "printed = true\nring = 1\nflange_angle = 70\nends = 'tube'", "printer": TRUE}
COARSE = {"wheelset": "printed = true", "printer": "line_width = 0.7\nnozzle = 0.6\nlayer = 0.35"}
FACET = 0.03            # mm


@cache
def _train(lines):
    return resolve(described(**dict(lines)))


def train(lines):
    return _train(tuple(lines.items()))


@cache
def _made(lines, part):
    item = next(i for plan in _train(lines).printed for i in plan.items if i.part == part)
    return item, mesh_of(parts.build(item.part, item.plan))


def made(lines, part):
    return _made(tuple(lines.items()), part)


def half(mesh):
    """The wheel cut along its axle, as a polygon of (radius, y from the flange's back)."""
    rings = solid(mesh).slice(0.0).to_polygons()      # at z = 0: in x and y
    return max((Polygon(ring) for ring in rings if np.mean(ring, axis=0)[0] > 0), key=lambda ring: ring.area)


def radius_at(ring, y):
    return ring.intersection(LineString([(0, y), (500, y)])).bounds[2]


@pytest.mark.slow
@pytest.mark.parametrize("lines", [RUBBER, LEANING, COARSE], ids=["ring", "leaning", "coarse"])
@pytest.mark.parametrize("part", ["wheel", "wheel-jig"])
def test_wheel_and_jig_are_as_planned_and_print_without_supports(lines, part):
    item, mesh = made(lines, part)
    assert mesh.extents == pytest.approx(item.plan.size, abs=FACET) and mesh.is_watertight
    assert mesh.volume == pytest.approx(item.plan.volume, rel=0.015)
    assert print_faults(Posed(PartId("one", part), lay(item, mesh, Printer()), train(lines).description.printer)) == []


@pytest.mark.slow
@pytest.mark.parametrize("lines", [RUBBER, LEANING], ids=["upright", "leaning"])
def test_wheel_measures_as_the_checks_take_it(lines):
    """As a caliper finds them: over the flange, on the tread beside it, across the flange there; and the tread's cone,
    which lies within the 1 to 3 degrees of NMRA RP-25 and NEM 311G (SEEN)."""
    _, mesh = made(lines, "wheel")
    wheels, ring = train(lines).description.wheelset["standard"], half(mesh)
    t, w = wheels.flange_thickness, wheels.width
    assert 2 * ring.bounds[2] == pytest.approx(wheels.flange_diameter, abs=FACET)
    assert 2 * radius_at(ring, t + 0.1) == pytest.approx(wheels.tread_diameter, abs=FACET)
    assert ring.bounds[1::2] == pytest.approx((0, w), abs=1e-3)
    slope = degrees(atan((radius_at(ring, t + 0.05) - radius_at(ring, w - 0.5)) / (w - t - 0.55)))
    assert 1.7 < slope < 2.3
    # The flange's outer face, one third and one half up from the tread: thickness as its angle has it.
    for share in (1 / 3, 1 / 2):
        r = wheels.tread_radius + share * wheels.flange_depth
        across = ring.intersection(LineString([(r, -1), (r, w + 1)])).length
        assert across == pytest.approx(t - share * wheels.flange_depth / tan(radians(wheels.flange_angle)), abs=0.05)


@pytest.mark.slow
def test_a_round_cord_lies_in_the_groove_and_stands_out_of_the_tread():
    """The cord stretched over the floor, its volume kept: touches floor and both sides, stands 0.1 to 0.3 mm out."""
    item, mesh = made(RUBBER, "wheel")
    ring, seat = half(mesh), item.plan.ring * 1.05
    cord = 1.2 / 1.05**0.5
    y = item.plan.ring_at
    turn = np.linspace(0, 2 * pi, 200)
    disc = Polygon([(seat / 2 + cord / 2 * (1 + cos(a)), y + cord / 2 * sin(a)) for a in turn])
    assert ring.intersection(disc).area < 0.01
    for dx, dy in ((-0.05, 0), (0, -0.05), (0, 0.08)):
        moved = Polygon([(px + dx, py + dy) for px, py in disc.exterior.coords])
        assert ring.intersection(moved).area > 0.005, "loose that way"
    assert 0.1 < disc.bounds[2] - radius_at(ring, item.plan.thick + 0.1) < 0.3


@pytest.mark.slow
@pytest.mark.parametrize("lines", [RUBBER, LEANING], ids=["bare", "tube"])
def test_jig_sets_back_to_back_with_rod_and_tube_in_its_slot(lines):
    """Wheels pressed flat against it are back_to_back apart; half of each back leans on it; the rod, with the tube over
    it, lies in the slot at the wheels' middle, which are clear of the table."""
    from manifold3d import Manifold
    jig, jig_mesh = made(lines, "wheel-jig")
    wheel, wheel_mesh = made(lines, "wheel")
    wheels = train(lines).description.wheelset["standard"]
    assert jig_mesh.extents[1] == pytest.approx(wheels.back_to_back, abs=1e-3)
    block, high = solid(jig_mesh), jig.plan.floor + wheels.bearing_diameter / 2
    assert high - wheels.flange_diameter / 2 > 0.5
    rod = Manifold.cylinder(60, wheels.bearing_diameter / 2, circular_segments=96).rotate((-90, 0, 0))
    assert (block ^ rod.translate((0, -30, high + 0.01))).volume() < 1e-3
    assert (block ^ rod.translate((0.5, -30, high))).volume() > 1 and (block ^ rod.translate((0, -30, high - 0.3))
                                                                      ).volume() > 1
    at = {side: wheel_mesh.copy().apply_transform(stand(place)) for side, place in zip((1, -1), wheel.places[:2],
                                                                                      strict=True)}
    for side, placed in at.items():
        back = placed.bounds[0, 1] if side > 0 else -placed.bounds[1, 1]
        assert back == pytest.approx(wheels.back_to_back / 2, abs=1e-3)
    face = box(-jig.plan.length / 2, 0, jig.plan.length / 2, jig.plan.height)
    disc = Polygon([(wheels.flange_diameter / 2 * cos(a), high + wheels.flange_diameter / 2 * sin(a))
                    for a in np.linspace(0, 2 * pi, 99)])
    assert face.intersection(disc).area > 0.5 * disc.area


@pytest.mark.parametrize("hub", [4.0, 6.6, 20.0])
def test_hub_pressure_solves_lames_equations(hub):
    """u'' + u'/r - u/r^2 = 0 in plane stress, free outside, pushed out by half of the interference inside; stress by
    Hooke's law (equations of elasticity, from memory), solved by scipy."""
    modulus, nu, shaft, tight = 2000.0, 0.35, 3.0, 0.03

    def stress(r, u, du):
        return modulus / (1 - nu**2) * (du + nu * u / r)

    a, b = shaft / 2, hub / 2
    r = np.linspace(a, b, 50)
    found = solve_bvp(lambda r, y: np.vstack([y[1], y[0] / r**2 - y[1] / r]),
                      lambda ya, yb: np.array([ya[0] - tight / 2, stress(b, *yb)]), r, np.zeros((2, 50)), tol=1e-8)
    pressure = hub_pressure(tight, shaft, hub, modulus, nu)
    assert pressure == pytest.approx(-stress(a, *found.sol(a)), rel=1e-5)
    area = pi * shaft * 6
    assert slip_force(pressure, shaft, 6.0, 0.2) == pytest.approx(0.2 * pressure * area)


def test_presets_of_every_gauge_print_or_say_why_not():
    """A nozzle of 0.4 mm prints the wheels of 32 and 45 mm; the finer flanges of 16.5 mm take finer lines."""
    verdicts = {}
    for name in presets.catalogue()["wheelset"]:
        track = name.removesuffix("-tube").removesuffix("-printed")
        plan = train_of({"wheelbase": 120}, track={"use": track, "min_radius": 2000}, wheelset={
            "standard": {"use": name, "printed": True}})
        own = [f for f in run(plan) if "printed wheel" in f.reason or f.check == "press-fit"]
        verdicts[name] = worst(own)
        if verdicts[name] == "fail":
            fine = train_of({"wheelbase": 120}, track={"use": track, "min_radius": 2000}, printer={
                "use": "bed-300", "line_width": 0.3, "nozzle": 0.3, "layer": 0.15},
                wheelset={"standard": {"use": name, "printed": True}})
            assert worst([f for f in run(fine) if "printed wheel" in f.reason or f.check == "press-fit"]) == "pass"
    assert verdicts["gauge-32"] == verdicts["gauge-45"] == verdicts["toy-37.5"] == "pass"


# Plastic that lies: three layers and 1 mm hold, where two lines of a coarse nozzle would be 1.3 to 2 mm.
FLAT = [("gauge-45", 1.0, 1.0, 0.5), ("gauge-32", 0.6, 0.65, 0.3), ("gauge-45", 0.8, 0.9, 0.4)]
# A hollow whose walls would meet.
NARROW = ("toy-37.5", 0.8, 0.92, 0.31, {"ring": 1.8, "flange_thickness": 2.5})


def coarse(preset, nozzle, line, layer, own=None):
    """A wheelset's preset with what a wheel of its `own` has, on a printer with such lines."""
    return train_of({"wheelbase": 120}, track={"use": preset, "min_radius": 2000}, wheelset={
        "standard": {"use": preset, "printed": True, "flange_angle": 90} | (own or {})}, printer={
        "use": "bed-300", "nozzle": nozzle, "line_width": line, "layer": layer})


def amiss(plan):
    """What of a flange and of the plastic round its bore the plan says is too thin, and what a drawn wheel shows."""
    item = next(item for item in plan.wagons[0].items if item.part == "wheel")
    mesh = lay(item, mesh_of(parts.build("wheel", item.plan)), plan.description.printer)
    return ([f for f in run(plan) if f.check == "wall" and "printed wheel" in f.reason],
            print_faults(Posed(PartId("one", "wheel"), mesh, plan.description.printer)))


@pytest.mark.slow
@pytest.mark.parametrize("case", [*FLAT, NARROW])
def test_a_coarse_nozzle_prints_a_flange_as_it_lies(case):
    assert amiss(coarse(*case)) == ([], [])


@pytest.mark.slow
@given(name=st.sampled_from(["gauge-16.5", "gauge-22.5", "gauge-32", "gauge-45"]),
       nozzle=st.sampled_from([0.3, 0.6, 1]), line=st.floats(0.9, 1.0),
       layer=st.floats(0.2, 0.5), thick=st.floats(0.8, 1.2), deep=st.floats(0.4, 2.0))
@settings(deadline=None, max_examples=8)
def test_plan_and_mesh_call_the_same_flanges_too_thin(name, nozzle, line, layer, thick, deep):
    """The plan is stricter by the facets of a mesh, and asks for whole layers and a line of depth."""
    plain = coarse(name, 0.3, 0.3, 0.15).description.wheelset["standard"]
    thick = round(thick * plain.flange_thickness, 2)
    own = {"flange_thickness": thick, "flange_diameter": round(plain.tread_diameter + 2 * deep, 2),
           "back_to_back": round(plain.back_to_back + 2 * min(plain.flange_thickness - thick, 0), 2)}
    planned, drawn = amiss(coarse(name, nozzle, round(nozzle * line, 2), round(nozzle * layer, 2), own))
    assert not drawn or planned
    if any("too thin" in f.reason and f.margin < -0.06 for f in planned):
        assert [check for check, _ in drawn] == ["wall"]


@pytest.mark.slow
def test_what_is_told_to_thicken_a_flange_does():
    """0.9 mm that stand out 1.6: 0.1 mm too little; each change is drawn."""
    thin = {"flange_thickness": 0.9}
    plan = coarse("gauge-45", 0.5, 0.55, 0.2, thin)
    planned, drawn = amiss(plan)
    assert len(planned) == 1 and "0.90 mm of plastic" in drawn[0][1] and "0.10 mm less than the 1.00 mm" in drawn[0][1]
    cures = {path.rpartition(".")[2]: value for path, value in cured(plan, "wall").items()}
    assert cures["flange_thickness"] == 1.0 and cures["line_width"] == 0.45
    thicker = coarse("gauge-45", 0.5, 0.55, 0.2, {"flange_thickness": cures["flange_thickness"]})
    finer = coarse("gauge-45", 0.5, cures["line_width"], 0.2, thin)
    assert amiss(thicker) == amiss(finer) == ([], [])


@pytest.mark.parametrize("wheelset, printer", [
    ("flange_thickness = 0.8", "layer = 0.3"), ("flange_thickness = 0.6", "line_width = 0.7\nnozzle = 0.6"),
    ("flange_diameter = 17.5", ""), ("axle_diameter = 9.5\ntread_diameter = 17\nring = 3.5", ""), ("ring = 3", "")])
def test_what_no_printer_makes_falls_short_and_says_what_helps(wheelset, printer):
    plan = train({"wheelset": f"printed = true\nwidth = 8\n{wheelset}".replace(
        "width = 8\nring = 3", "width = 6.5\nring = 3"), "printer": printer})
    wall = [f for f in run(plan) if f.check == "wall" and "printed wheel" in f.reason]
    assert worst(wall) == "fail" and all(any(c.isdigit() for c in f.reason) for f in wall)


def test_wheelset_weighs_what_its_plan_and_a_handbook_give():
    """Steel 7.85 g/cm3 (handbooks, from memory); two wheels, printed solid however full the rest is."""
    solid_wheels = train({"wheelset": "printed = true", "printer": "[printer.slicing]\ninfill = 20"})
    plan, printer = solid_wheels.wagons[0], solid_wheels.description.printer
    rod = 7.85e-3 * pi / 4 * 3**2 * (31.2 + 2 * 6.5 - 0.4)
    wheel = plan.gear.wheel.volume * 1.24e-3
    assert plan.wheelset.mass == pytest.approx(rod + 2 * wheel, rel=0.02)
    gear = [load for load in loads(plan, printer) if load.name in ("wheel", "wheelset")]
    assert sum(load.mass for load in gear) == pytest.approx(2 * plan.wheelset.mass)
    assert {round(load.y, 3) for load in gear} == {-15.6, 0.0, 15.6}


def test_the_jig_is_tried_before_wheels_are_and_printed_first():
    """It is printed with the gauges; wheels that are all pressed on at home cannot be tried before."""
    printed = train(RUBBER)
    said = [step for step in steps(printed) if not step.wagons]
    jig, = (step for step in said if step.title == "Try the jig")
    assert set(jig.new) == {"wheel-jig", "wheel-gauge"} and "once both wheels are on a rod" in jig.text
    assert "Try the wheelsets" not in [step.title for step in said]
    assert all(not item.serves for item in printed.trackside.items if item.part == "wheel-jig")
    bearings = {"wheelset": 'ends = "bearing"\nbearing_outer = 7\nbearing_width = 2.5'}
    bought = [step.title for step in steps(train(bearings)) if not step.wagons]
    assert bought.index("Try the jig") < bought.index("Try the wheelsets")
    assert "lay a rod in" in jig.text and "puller" not in jig.text
    # its faces look outwards, where a gauge for the inside of wheels measures nothing: a caliper does, by the
    # wheelset's own figure
    apart = printed.description.wheelset["standard"].back_to_back
    assert f"over both faces with a caliper: {apart:g} mm" in jig.text and "caliper" in jig.tools
    jig, = (step for step in steps(train(bearings)) if step.title == "Try the jig")
    assert "rod" not in jig.text and "printed wheelset" not in jig.text
    assert "puller" in jig.text and 'ends = "plain"' in jig.text and "knife" in jig.tools


def test_where_wheelsets_are_mixed_the_jigs_step_says_which_are_whose():
    """Two kinds, of which one is bought and stays as it is; a third that is bought and takes bearings."""
    more = ["[wheelset.rods]\nuse = 'toy-37.5'\nprinted = true",
            "[[wagon]]\nname = 'two'\nwheelset = 'rods'\nwheelbase = 64"]
    said = _jigs(more)
    assert said.title == "Try the jig" and "lay a rod of two (wheelset rods) in" in said.text
    assert "mm wide with a slot of 3.4 mm is for the printed wheels of two" in said.text and "puller" not in said.text
    more += ["[wheelset.balls]\nuse = 'toy-37.5'\nends = 'bearing'\nbearing_width = 2.5",
             "[[wagon]]\nname = 'three'\nwheelset = 'balls'\nwheelbase = 64"]
    said = _jigs(more)
    assert said.title == "Try the jigs" and len(said.new) == 2
    assert "lay a rod of two (wheelset rods) and an axle of three (wheelset balls) in" in said.text
    assert "a slot of 7.4 mm is for the bought wheels of three" in said.text
    assert "comes off its axle of three (wheelset balls)" in said.text


def _jigs(more):
    told, = (step for step in steps(train({"wagon": "\n".join(["", *more])})) if step.title.startswith("Try the jig"))
    return told


def test_rods_rings_and_their_step_are_told():
    one = train(RUBBER)
    lines = {line.what: line for line in bill(one)}
    assert "wheelset" not in lines and lines["steel rod, round and straight"].count == 2
    assert lines["steel rod, round and straight"].size == "3 mm, 43.8 mm long"
    ring = lines["rubber ring"]
    # 17 less twice (1.2/sqrt(1.05) - 0.2) is 15.06 over the floor: a ring of 14.3 is stretched by a twentieth
    assert ring.count == 4 and ring.size == "14.3 mm inside, 1.2 mm thick"
    step, = (step for step in steps(one) if "rods" in step.title)
    assert {"wheel", "rod", "rubber-ring"} == set(step.new) and step.aside
    assert all(word in step.text for word in ("2 rods of 3 mm to 43.8 mm", "jig", "vice", "rubber ring"))
    titles = [step.title for step in steps(one)]
    assert titles.index(step.title) < titles.index("one: Wheelsets")
    assert "Slide one on each" in next(s.text for s in steps(train(LEANING)) if "rods" in s.title)
    assert not any("rods" in step.title for step in steps(train({"wheelset": ""})))
