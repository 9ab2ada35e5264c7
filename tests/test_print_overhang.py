"""Overhangs and bridges: solids of known lean and span, a voxel reference, and layers cut by manifold3d."""

from itertools import pairwise
from math import pi, radians, sin, tan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from manifold3d import Manifold, OpType
from solids import as_mesh, block, posed, prism, rod, upright
from trimesh import Trimesh

from partgen.checks.printed import bridge, overhang
from partgen.formulas.plastic import overhang_limit
from partgen.printing.overhang import steepest

LIMIT = overhang_limit(0.2, 0.45)       # 48.4 deg


def tee(lean, arm=10.0, stem=8.0):
    """A stem with two arms whose undersides lean out `lean` [deg from upright]."""
    rise = arm / tan(radians(lean)) if lean < 90 else 0.0
    half = stem / 2
    return prism([(-half, 0), (half, 0), (half, 20), (half + arm, 20 + rise), (half + arm, 24 + rise),
                  (-half - arm, 24 + rise), (-half - arm, 20 + rise), (-half, 20)], 12)


def portal(span, depth=12.0):
    """Two posts and a beam over them."""
    return block(span + 20, depth, 20) - block(span, depth + 2, 14, (10, -1, -1))


def tunnel(diameter):
    """A round hole through a block."""
    size = diameter + 10
    return block(size, 12, size) - rod(diameter, 20, (size / 2, -4, size / 2))


def arch(diameter):
    """A half-round gate that stands on the bed."""
    return block(diameter + 10, 12, diameter) - rod(diameter, 20, (diameter / 2 + 5, -4, 0), facets=192)


def pit_ceiling(hole=4.0, recess=9.0):
    """A recess from below whose ceiling has a hole in the middle: nothing to bridge to."""
    return block(20, 20, 10) - upright(recess, 6, (10, 10, -1)) - upright(hole, 20, (10, 10, -1))


def floating():
    return block(20, 20, 2) + block(3, 3, 20) + block(3, 3, 3, (17, 17, 10))


def hanging_tip():
    """A beam with a spike down from its middle: every face carries itself, but the tip is in mid-air."""
    return portal(8) + upright(0.01, 3, (14, 6, 10.2), top=6)


def hanging_ridge():
    """The same with a sharp ridge all along the beam."""
    return portal(8) + prism([(12, 13.2), (16, 13.2), (14, 11.2)], 12)


def dimpled(deep):
    """A portal whose ceiling is drawn down by `deep` [mm] in its middle."""
    mesh = as_mesh(portal(8))
    ceiling = (mesh.triangles[:, :, 2] == 13).all(axis=1) & (mesh.face_normals[:, 2] < -0.5)
    middle = mesh.vertices[np.unique(mesh.faces[ceiling])].mean(axis=0) - (0, 0, deep)
    one, two = ([(face[k], face[k - 2], len(mesh.vertices)) for k in range(3)] for face in mesh.faces[ceiling])
    fan = [edge for edge in one + two if not any(edge[:2] == other[1::-1] for other in one + two)]
    return Trimesh([*mesh.vertices, middle], [*mesh.faces[~ceiling], *fan], process=False)


# Meshes, not manifolds: those complain when Python ends before they are gone.
MUST_FAIL = {check: [as_mesh(body) for body in bodies] for check, bodies in {
    "overhang": [tee(90), tee(60), tee(52), pit_ceiling(), floating(), hanging_tip(),
                 hanging_ridge(), Manifold.sphere(8, 64),
                 block(5, 20, 20) + block(10, 20, 3, (0, 0, 17))],
    "bridge": [portal(50.5), block(80, 80, 20) - block(60, 60, 10, (10, 10, -1))],
}.items()}
PASS = [as_mesh(body) for body in [
    block(20, 20, 20), tee(45), tee(30), tee(48), portal(8), tunnel(5.9), arch(12), upright(20, 10, top=4),
    upright(4, 8, top=19.9), block(5, 20, 20) + block(0.4, 20, 3, (5, 0, 17)),
    block(20, 20, 10) - block(9, 14, 6, (5, 3, -1)), portal(9) - rod(3, 30, (4, -5, 10)),
]]


@pytest.mark.parametrize("number", range(len(PASS)))
def test_what_carries_itself_passes(number):
    assert overhang(posed(PASS[number])).verdict == "pass"
    assert bridge(posed(PASS[number])).verdict == "pass"


def test_a_tip_hangs_by_more_than_a_hundredth():
    """What a mesh's rounding leaves of a level ceiling is no tip: a hundredth of a mm, a twentieth of a layer."""
    assert dimpled(0.5).is_watertight
    assert [overhang(posed(dimpled(deep))).verdict for deep in (0.0098, 0.0102)] == ["pass", "fail"]


@pytest.mark.parametrize("lean", [50.0, 55.5, 63.0, 75.0, 90.0])
def test_an_overhang_shows_its_angle(lean):
    finding = overhang(posed(tee(lean)))
    assert finding.value == pytest.approx(lean, abs=0.1) and finding.verdict == "fail"
    assert finding.limit == pytest.approx(LIMIT)


@pytest.mark.parametrize("lean", [0.5, 20.0, 45.0, 48.0])
def test_a_slope_that_carries_itself_shows_its_angle(lean):
    part = posed(tee(lean))
    assert steepest(part.mesh, part.overhang_limit, part.printer.layer) == pytest.approx(lean, abs=0.1)


def test_the_limit_is_where_the_verdict_turns():
    assert overhang(posed(tee(LIMIT - 0.2))).verdict == "pass"
    assert overhang(posed(tee(LIMIT + 0.2))).verdict == "fail"


@pytest.mark.parametrize("layer, line, limit", [(0.2, 0.45, 48.4), (0.3, 0.45, 45.5), (0.1, 0.45, 60.0)])
def test_thin_layers_reach_further(layer, line, limit):
    """Half a line on the layer below: atan(0.225 / 0.2) = 48.4 deg; never under the usual 45."""
    found = posed(block(9, 9, 9), layer=layer, line_width=line).overhang_limit
    assert found == pytest.approx(limit, abs=0.05)
    assert overhang(posed(tee(45), layer=layer, line_width=line)).verdict == "pass"


def test_hanging_area_is_named():
    """Both arms of a T, less the line beside the stem that the stem holds: 2 x 12 x (10 - 0.45) mm2."""
    areas = sum(region.hanging for region in posed(tee(90)).regions)
    assert areas == pytest.approx(2 * 12 * 9.55, rel=0.02)


@pytest.mark.parametrize("span, verdict", [(3.3, "pass"), (9.9, "pass"), (10.4, "warn"), (27.0, "warn"),
                                           (50.4, "fail")])
def test_a_bridge_shows_its_length(span, verdict):
    finding = bridge(posed(portal(span)))
    assert finding.value == pytest.approx(span, abs=0.05) and finding.verdict == verdict
    assert overhang(posed(portal(span))).verdict == "pass"


@pytest.mark.parametrize("turn", [0, 17, 45, 80])
def test_a_bridge_is_as_long_however_the_part_is_turned(turn):
    assert bridge(posed(portal(9.5).rotate((0, 0, turn)))).value == pytest.approx(9.5, abs=0.1)


def test_a_closed_ceiling_is_bridged_the_short_way():
    body = block(40, 30, 20) - block(30, 7, 15, (5, 10, -1))
    assert bridge(posed(body)).value == pytest.approx(7, abs=0.1)


def test_a_round_ceiling_spans_its_diameter():
    body = block(20, 20, 10) - upright(8, 6, (10, 10, -1), facets=128)
    assert bridge(posed(body)).value == pytest.approx(8, abs=0.1)


def test_a_ring_shaped_ceiling_spans_the_ring():
    body = block(40, 40, 10) - (upright(30, 5, (20, 20, -1)) - upright(24, 5, (20, 20, -1)))
    assert bridge(posed(body)).value == pytest.approx(3.1, abs=0.2)    # lines 0.25 mm apart
    assert overhang(posed(body)).verdict == "pass"


@pytest.mark.parametrize("diameter", [4.0, 6.0, 12.0])
def test_a_round_roof_bridges_only_its_crown(diameter):
    """The roof leans out more than the limit within 90 - 48.4 deg of its top: a chord of d sin(41.6 deg)."""
    chord = diameter * sin(radians(90 - LIMIT))
    for body in (tunnel(diameter), arch(diameter)):
        value = bridge(posed(body)).value
        assert chord - 2 * diameter * pi / 96 <= value <= chord + diameter * pi / 96


def test_a_beam_held_at_its_ends_only_is_bridged_along():
    body = block(30, 3, 20) - block(20, 5, 15, (5, -1, -1))
    assert bridge(posed(body)).value == pytest.approx(20, abs=0.1)


def test_a_balcony_between_two_walls_is_a_bridge():
    body = block(20, 20, 20) - block(8, 15, 12, (6, -1, -1)) - block(8, 4, 30, (6, -1, -1))
    assert bridge(posed(body)).value == pytest.approx(8, abs=0.1) and overhang(posed(body)).verdict == "pass"


def test_a_chamfer_on_the_bed_passes_and_a_ball_does_not():
    body = block(20, 20, 10) - prism([(-1, -1), (1.5, -1), (-1, 1.5)], 30).translate((0, -5, 0))
    assert overhang(posed(body)).verdict == "pass"
    assert overhang(posed(Manifold.sphere(8, 64))).value > 80


# References that know nothing of faces

CELLS = st.lists(st.tuples(*[st.integers(0, 5)] * 3, *[st.integers(1, 4)] * 3), min_size=1, max_size=5)


def voxels(boxes):
    room = np.zeros((12, 12, 12), dtype=bool)
    room[:, :, 0] = True
    for x, y, z, dx, dy, dz in boxes:
        room[x + 1:x + dx + 1, y + 1:y + dy + 1, z:z + dz] = True
    return room


def spans(room):
    """Return for each cell over air how many cells lie between carried ones in its row along x, and along y;
    infinite where the row does not end on carried cells both ways."""
    found = []
    for x, y, z in np.argwhere(room[:, :, 1:] & ~room[:, :, :-1]):
        level, below, both = room[:, :, z + 1], room[:, :, z], []
        for row, under, at in ((level[:, y], below[:, y], x), (level[x], below[x], y)):
            low, high = at, at
            while row[low] and not under[low]:
                low -= 1
            while row[high] and not under[high]:
                high += 1
            both.append(high - low - 1 if row[low] and row[high] else np.inf)
        found.append(both)
    return np.array(found)


@given(CELLS)
@settings(deadline=None, max_examples=40)
def test_stacked_boxes_agree_with_voxels(boxes):
    """Boxes of 4 mm cells on a plate. Where all rows along x, or all along y, end on carried cells, the check
    may not call anything hanging; where neither row through some cell does, it must."""
    plate, cells = block(12 * 4, 12 * 4, 4), voxels(boxes)
    body = Manifold.batch_boolean([plate, *(block(4 * dx, 4 * dy, 4 * dz, (4 * x + 4, 4 * y + 4, 4 * z))
                                            for x, y, z, dx, dy, dz in boxes)], OpType.Add)
    part, rows = posed(body), spans(cells)
    if not len(rows):
        assert part.regions == ()
    elif np.isfinite(rows).all(axis=0).any():
        assert overhang(part).verdict == "pass"
        assert bridge(part).value <= 4 * rows.max(axis=0).min() + 0.05
    elif np.isinf(rows).all(axis=1).any():
        assert overhang(part).verdict == "fail"


@pytest.mark.parametrize("draw, measure, hangs", [
    (tee, 90, True), (tee, 60, True), (tee, 52, True), (tee, 45, False), (tee, 40, False), (portal, 8, False),
    (pit_ceiling, 4, True)])
def test_layers_cut_one_by_one_tell_the_same(draw, measure, hangs):
    """What of a layer lies further out than the limit lets it from the layer below, as areas in the plane."""
    body, layer, reach = draw(measure), 0.2, 0.2 * tan(radians(LIMIT))
    heights = np.arange(0.1, body.bounding_box()[5], layer)
    cuts = [body.slice(height) for height in heights]
    loose = [float((above - below.offset(reach + 0.02, circular_segments=64)).area())
             for below, above in pairwise(cuts)]
    assert (sum(loose) > 5.0) == (hangs or bridge(posed(body)).value > 0)
    assert (overhang(posed(body)).verdict == "fail") == hangs


@pytest.mark.parametrize("lean", [30.0, 45.0, 60.0])
def test_at_the_limit_half_a_line_rests_on_the_layer_below(lean):
    """A layer moves out by h tan(angle): worked backwards from the line that just half rests."""
    assert overhang_limit(0.2, 2 * 0.2 * tan(radians(lean))) == pytest.approx(lean)
