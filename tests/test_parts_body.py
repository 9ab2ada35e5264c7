"""Body, lid and cradle: sound solids as the plan says, that take cups, screws and each other.

Shapes are measured on slices of their meshes (manifold3d, shapely). Screw sizes are typed here from their
standards and cups are followed by brute force, not read from the package.
"""

from functools import cache

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from shapely import LineString, Point, Polygon
from trimesh.creation import box, cone, cylinder
from trimesh.util import concatenate

from partgen import parts
from partgen.checks.meshes import open_edges
from partgen.describe.cargo_tables import Module
from partgen.describe.cup_table import Cup
from partgen.describe.description import Description
from partgen.describe.printer_tables import Printer
from partgen.describe.track_tables import Track
from partgen.describe.wagon_tables import Wagon, Wheelset
from partgen.plan.body.fittings import Fittings
from partgen.plan.body.lid_clip import BLOCK, TRAVEL
from partgen.plan.train import resolve
from partgen.solids.built import lay, stand
from partgen.solids.mesh import mesh_of
from partgen.solids.overlap import solid

pytestmark = pytest.mark.slow

WHEELS = Wheelset(tread_diameter=17, flange_diameter=20.4, flange_thickness=2.6, back_to_back=31.2, width=6.5,
                  axle_diameter=3)
PROFILES = {
    "straight": ((0, 46), (70, 46)),
    "flaring": ((0, 42), (20, 50), (58, 60)),
    "narrowing": ((0, 60), (80, 48)),
    "bulging": ((0, 30), (9, 44), (20, 52), (34, 47), (60, 40)),
    "stemmed": ((0, 52), (2, 52), (5, 9), (50, 9), (70, 60), (100, 66)),
}
CUPS = {name: Cup(profile=profile, mass=100) for name, profile in PROFILES.items()}
MODULES = {
    "board": Module(length=69, width=26, height=14, plugs=("front",), mass=12),
    "cell": Module(length=43, width=43, height=26, mass=30),
}
WAGONS = {
    "closed": Wagon(name="closed", wheelbase=70, modules=("board", "cell")),
    "open": Wagon(name="open", wheelbase=70, cups=("flaring", "flaring"), sides="panelled"),
    "carrying": Wagon(name="carrying", wheelbase=80, modules=("cell",), cups=("straight", "bulging"),
                      screw="M2.5"),
    "thick": Wagon(name="thick", wheelbase=70, modules=("board", "cell"), wall=4.0, sides="panelled"),
    "thin": Wagon(name="thin", wheelbase=70, modules=("board",), wall=0.9, screw="M2", width=52.0,
                  length=150.0),
    "plain": Wagon(name="plain", wheelbase=60, sides="plain", cups=("narrowing",)),
}
DRAWN = [(name, part) for name, wagon in WAGONS.items() for part in ("body", "lid", "cradle")
         if part == "body" or part == "lid" and wagon.modules or part == "cradle" and wagon.cups]

# ISO 273 medium clearance hole, thread, diameter of the countersunk head's sharp 90 degree cone
# (engineeringhardware.com, codecupboard.com; M2 and M2.5 by the same rule, 2.24 d); all in mm.
SCREWS = {"M2": (2.4, 2.0, 4.48), "M2.5": (2.9, 2.5, 5.60), "M3": (3.4, 3.0, 6.72)}
CHORD = 0.05            # mm: a facet of a round or free-form face is off by less
TOUCH = 0.02            # mm3


PLAIN = Printer()


def planned(wagon, printer=PLAIN):
    description = Description(title="Test line", track=Track(gauge=37.5, min_radius=600), printer=printer,
                              wheelset={"standard": WHEELS}, module=MODULES, cup=CUPS, wagon=(wagon,))
    return resolve(description).wagons[0]


@cache
def plan_of(name):
    return planned(WAGONS[name])


@cache
def built(name, part):
    """Return a part; of the body without what its modules need, which test_fittings looks at."""
    plan = getattr(plan_of(name), part)
    return parts.build(part, replace(plan, fittings=Fittings()) if part == "body" else plan)


@cache
def mesh(name, part):
    return mesh_of(built(name, part))


def overlap(one, other):
    return (solid(one) ^ solid(other)).volume()


def slice_at(one, height):
    """Return the mesh's outline at `height` as shapely polygons, holes taken out, largest first."""
    rings = [Polygon(ring) for ring in solid(one).slice(height).to_polygons()]
    area = Polygon()
    for ring in sorted(rings, key=lambda ring: -ring.area):
        area = area.symmetric_difference(ring)
    return sorted(getattr(area, "geoms", [area]), key=lambda ring: -ring.area)


def shaft(diameter, z0, z1, x, y):
    """Return an upright bar as a mesh, its facets round the circle from outside."""
    bar = cylinder(diameter / 2 / np.cos(np.pi / 64), z1 - z0, sections=64)
    return bar.apply_translation((x, y, (z0 + z1) / 2))


# Soundness, sizes and estimates

@pytest.mark.parametrize("name, part", DRAWN)
def test_part_is_one_sound_closed_solid_of_the_planned_size(name, part):
    plan, shape = getattr(plan_of(name), part), built(name, part)
    plan = replace(plan, fittings=Fittings()) if part == "body" else plan
    assert shape.isValid() and shape.ShapeType() == "Solid" and len(shape.Shells()) == 1
    box = shape.BoundingBox()
    assert (box.xlen, box.ylen, box.zlen) == pytest.approx(plan.size, abs=0.05)
    assert shape.Volume() == pytest.approx(plan.volume, rel=0.06)
    assert shape.Center().z == pytest.approx(plan.centroid_z, abs=0.1 * plan.size[2])
    assert open_edges(mesh(name, part)) == 0
    assert mesh(name, part).body_count == 1


@pytest.mark.parametrize("name, part", DRAWN)
def test_part_stands_at_its_planned_height(name, part):
    plan, (low, high) = getattr(plan_of(name), part), mesh(name, part).bounds
    assert low[:2] + high[:2] == pytest.approx(0, abs=1e-3)
    down = max(plan.rim.depth, plan.boss_reach) if part == "lid" else 0
    assert low[2] == pytest.approx(plan.bottom - down, abs=1e-3)


@pytest.mark.parametrize("name, part", DRAWN)
def test_part_prints_without_supports(name, part):
    """45 degrees from upright is common practice; facets round a bevelled corner may lean two degrees more,
    and the bottom of a blind core is a short bridge. What lies on the bed does not hang."""
    item = next(item for item in plan_of(name).items if item.part == part)
    laid = lay(item, mesh(name, part), Printer())
    down, on_bed = laid.face_normals[:, 2], laid.triangles[:, :, 2].max(axis=1) < 0.01
    steep = (down < -np.sin(np.radians(47))) & ~on_bed
    bridges = 0.0
    if part == "lid":
        latching = item.plan.clips      # the roofs of the clips' sockets: 5.5 mm deep, bridged from side to side
        bridges = 2 * latching.hole * 6.5 + (np.pi * item.plan.core**2 if item.plan.screws else 0.0)
    assert laid.area_faces[steep].sum() < bridges + 0.5
    assert laid.area_faces[on_bed].sum() > 0.8 * np.prod(parts.printed_size(item)[:2])


# Body

def walls(name):
    """Return the least wall [mm] on slices all the way from over the floor to under the rim's bevel."""
    plan = plan_of(name).body
    heights = np.linspace(plan.bottom + plan.floor + 0.7, plan.top - 0.7, 45)
    rings = [slice_at(mesh(name, "body"), height)[0] for height in [*heights, *plan.planks]]
    assert all(ring.interiors for ring in rings)
    return min(ring.exterior.distance(hole) for ring in rings for hole in ring.interiors)


@pytest.mark.parametrize("name, left", [("closed", 1.0), ("open", 1.0), ("plain", 2.0), ("thin", 0.9)])
def test_wall_under_planks_and_panels_is_what_the_plan_leaves(name, left):
    """Two 0.45 mm lines are 0.9 mm: of a 2 mm wall at most 1 mm goes, of a 0.9 mm wall nothing."""
    assert walls(name) == pytest.approx(left, abs=CHORD)


def test_thick_wall_keeps_two_lines_behind_the_flutes_for_screw_heads():
    assert 0.9 <= walls("thick") < 3.0 - CHORD


@pytest.mark.parametrize("sides", ["planked", "panelled"])
def test_sides_are_cut_into_all_four_walls(sides):
    plan = replace(plan_of("closed").body, sides=sides, fittings=Fittings())
    shape = parts.build("body", plan)
    outline = slice_at(mesh_of(shape), plan.planks[0])[0].exterior
    for x, y in ((1, 0), (-1, 0), (0, 1), (0, -1)):
        # The line along a wall's face: posts stand in it, fields have left it.
        half = (y * plan.length / 2, x * plan.width / 2)
        face = LineString([(x * plan.length / 2 - half[0], y * plan.width / 2 - half[1]),
                           (x * plan.length / 2 + half[0], y * plan.width / 2 + half[1])])
        flush = face.intersection(outline.buffer(0.02)).length / face.length
        assert 0.03 < flush < 0.35


def test_planks_divide_a_field_evenly():
    plan = plan_of("closed").body
    edges = np.array([plan.field_z[0], *plan.planks, plan.field_z[1]])
    assert np.ptp(np.diff(edges)) < 1e-9 and 3.5 < np.diff(edges)[0] < 7


@pytest.mark.parametrize("name", ["closed", "thick", "thin", "carrying"])
def test_countersunk_screws_go_down_past_the_walls_and_sit_flush(name):
    plan, wagon = plan_of(name).body, WAGONS[name]
    clearance, thread, head = SCREWS[wagon.screw]
    floor = plan.bottom + plan.floor
    for x, y in plan.screws:
        assert overlap(mesh(name, "body"), shaft(clearance, plan.bottom - 1, floor, x, y)) < TOUCH
        assert overlap(mesh(name, "body"), shaft(head, floor, plan.top + 1, x, y)) < TOUCH
        sunk = cone(head / 2, head / 2, sections=64)
        sunk.apply_scale((1, 1, -1))
        sunk.apply_translation((x, y, floor))
        assert overlap(mesh(name, "body"), sunk) < TOUCH + 0.01 * sunk.volume
        assert overlap(mesh(name, "body"), shaft(head, floor - 1, floor, x, y)) > 1, "nothing holds the head"


def test_modules_lie_between_the_fences_and_a_cable_passes_them():
    plan = plan_of("closed")
    body, floor = mesh("closed", "body"), plan.floor_z
    assert len(plan.layout.fences) == 1
    for placed in plan.layout.placed:
        (x, y), half = (placed.x, placed.y), (placed.length / 2, placed.width / 2)
        # The 0.6 mm fillet at the walls' foot is outside a module's own 1 mm of room.
        sides = slice_at(body, floor + 1.0)[0]
        assert not sides.intersects(Polygon([(x + a * half[0], y + b * half[1])
                                             for a, b in ((1, 1), (-1, 1), (-1, -1), (1, -1))]))
    along = plan.layout.fences[0]
    rib = slice_at(body, floor + 2.0)[0].intersection(LineString([(along, -50), (along, 50)]))
    assert 8 < plan.body.inside[1] - (rib.length - 2 * plan.body.wall) <= plan.body.inside[1] / 2
    assert not Point(along, 0).intersects(rib)


# Lid

@pytest.mark.parametrize("name", ["closed", "carrying", "thick", "thin"])
def test_lid_drops_in_slides_and_is_guided(name):
    body, lid = mesh(name, "body"), mesh(name, "lid")
    assert overlap(body, lid) < TOUCH
    for x, y in ((0.15, 0), (0, 0.15), (-0.1, -0.1)):
        assert overlap(body, lid.copy().apply_translation((x, y, 0))) < TOUCH
    for x, y in ((0.6, 0), (0, -0.6)):
        assert overlap(body, lid.copy().apply_translation((x, y, 0))) > 1


def test_lid_cores_take_the_cradles_screws_and_stay_blind():
    plan = plan_of("carrying")
    _, thread, head = SCREWS["M2.5"]
    lid, cradle = mesh("carrying", "lid"), mesh("carrying", "cradle")
    for x, y in plan.lid.screws:
        depth = shaft(2.1, plan.lid.top - 4.5, plan.lid.top + 0.5, x, y)
        assert overlap(lid, depth) < TOUCH
        bitten = overlap(lid, shaft(thread, plan.lid.top - 4.5, plan.lid.top - 1, x, y))
        assert bitten > 1, "the thread bites nothing"
        assert overlap(cradle, shaft(SCREWS["M2.5"][0], plan.cradle.bottom - 1, plan.deck_z, x, y)) < TOUCH
        assert overlap(cradle, shaft(head, plan.deck_z, plan.deck_z + 60, x, y)) < TOUCH
        rings = slice_at(lid, plan.lid.bottom - max(plan.lid.rim.depth, plan.lid.boss_reach) + 0.6)
        closing = [ring for ring in rings if ring.contains(Point(x, y))]
        assert closing and closing[0].exterior.distance(Point(x, y)) > thread / 2 + 0.9


@cache
def clips(name):
    """Return a wagon's lid clips where they sit under the closed lid, as one mesh."""
    item = next(item for item in plan_of(name).items if item.part == "lid-clip")
    clip = mesh_of(parts.build("lid-clip", item.plan))
    return concatenate([clip.copy().apply_transform(stand(place)) for place in item.places])


@pytest.mark.parametrize("name", ["closed", "carrying", "thick", "thin"])
def test_lid_clips_sit_free_hold_the_lid_and_let_go(name):
    body, lid, held = mesh(name, "body"), mesh(name, "lid"), clips(name)
    latching = plan_of(name).lid.clips
    assert overlap(held, lid) < TOUCH and overlap(held, body) < TOUCH
    assert overlap(held.copy().apply_translation((0, 0, 0.05)), body) < TOUCH, "pressed while the lid is shut"
    for lifted in (0.3, 0.8, 1.4):
        up = held.copy().apply_translation((0, 0, lifted))
        assert overlap(up, body) > 0.3, "nothing holds the lid"
        assert overlap(lid.copy().apply_translation((0, 0, lifted)), body) < TOUCH, "the lid itself jams"
    assert overlap(held.copy().apply_translation((0, 0, 4.5)), body) < TOUCH
    # Bent back by its whole travel a nose passes the bead, and the arm touches neither socket nor rim.
    freed = {"x": (-1, 0), "y": (0, -1)}["x" if latching.sockets[0].yaw == 0 else "y"]
    clip, place = latching.clip, next(i for i in plan_of(name).items if i.part == "lid-clip").places[0]
    nose = box((clip.reach + clip.face, 4.0, clip.height)).apply_translation(
        ((clip.reach - clip.face) / 2, clip.nose, 0)).apply_transform(stand(place))
    back = nose.copy().apply_translation((*(np.array(freed) * (TRAVEL + 0.2)), 1.4))
    assert overlap(nose.copy().apply_translation((0, 0, 1.4)), body) > 0.3 and overlap(back, body) < TOUCH
    arm = box((clip.thickness, clip.arm, clip.height)).apply_translation(
        (-clip.face - clip.thickness / 2 - TRAVEL, (BLOCK + clip.arm) / 2, 0)).apply_transform(stand(place))
    assert overlap(arm, lid) < TOUCH


def test_a_drop_groove_runs_round_the_eaves_clear_of_the_body():
    plan = plan_of("closed")
    ring = slice_at(mesh("closed", "lid"), plan.lid.bottom + 0.2)
    assert len(ring) == 2, "the eaves' lip and the plate within it"
    lip = Polygon(ring[0].exterior) if ring[0].interiors else Polygon(ring[1].exterior)
    assert lip.area > plan.length * plan.width
    assert min(r.exterior.distance(lip.exterior) for r in ring if not r.interiors) > 0.8


# Any wagon

@st.composite
def cups(draw):
    height = draw(st.floats(30, 140))
    bends = sorted(draw(st.lists(st.floats(0.02, 0.98), max_size=3, unique=True)))
    heights = [0.0, *(height * share for share in bends), height]
    assume(min(np.diff(heights)) > 1e-3)
    return Cup(profile=tuple((h, draw(st.floats(16, 80))) for h in heights), mass=100, wall=1, fill=5)


@st.composite
def wagons(draw):
    printer = Printer(line_width=draw(st.sampled_from([0.4, 0.45, 0.6])),
                      bore_offset=draw(st.floats(-0.2, 0.5)))
    wagon = Wagon(
        name="any", wheelbase=draw(st.floats(40, 120)), wall=draw(st.floats(printer.thinnest_wall, 4)),
        sides=draw(st.sampled_from(["planked", "panelled", "plain"])),
        screw=draw(st.sampled_from(["M2", "M2.5", "M3"])),
        length=draw(st.none() | st.floats(100, 250)), width=draw(st.none() | st.floats(48, 120)),
        modules=tuple(draw(st.lists(st.sampled_from(["board", "cell"]), max_size=2))),
        cups=tuple(draw(st.lists(st.sampled_from(["one", "other"]), max_size=3))))
    return Description(title="Any", track=Track(gauge=37.5, min_radius=600), printer=printer, module=MODULES,
                       wheelset={"standard": WHEELS}, cup={"one": draw(cups()), "other": draw(cups())},
                       wagon=(wagon,))


@settings(max_examples=6, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(wagons(), st.sampled_from(["body", "lid", "cradle", "cradle"]))
def test_every_wagon_that_is_not_refused_can_be_built(description, part):
    wagon = resolve(description).wagons[0]
    plan = getattr(wagon, part)
    assume(plan is not None and not wagon.wanting)
    shape = parts.build(part, plan)
    box = shape.BoundingBox()
    assert (box.xlen, box.ylen, box.zlen) == pytest.approx(plan.size, abs=0.05)
    assert shape.Volume() == pytest.approx(plan.volume, rel=0.12)
