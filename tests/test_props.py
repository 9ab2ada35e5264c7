"""Things that are only pictured: closed bodies, judged by trimesh and shapely and by published formulas."""

import math

import numpy as np
import pytest
import trimesh
from shapely import Polygon

from partgen.plan.hardware import SCREWS
from partgen.report import props

GAUGE, RADIUS, HEAD, HEIGHT = 37.5, 320.0, 3.0, 6.0


def things():
    made = [
        *props.wheelset(17, 20.4, 3.1, 30.3, 6, 3, 46),
        *props.wheelset(9, 11, 0.8, 14, 2.8, 1.5, 20),
        *props.cup([(0, 46), (8, 50), (45, 60)], [(2, 44), (45, 55)], 28),
        *props.cup([(0, 70), (90, 70)], [(2, 66), (90, 66)], 70, handle=0.0),
        props.module((40, 20, 8)),
        props.magnet(8, 3),
        props.magnet(5, 2),
        props.screw(SCREWS["M3"], 10), props.screw(SCREWS["M2"], 10, sunk=True),
        props.nut(SCREWS["M3"]), props.washer(SCREWS["M2.5"]),
        *props.track_arc(GAUGE, RADIUS, -20, 60, HEAD, HEIGHT),
        *props.track_arc(GAUGE, 2000, -3, 5, HEAD, HEIGHT),
        props.pane(40, 20, 1.5),
        props.light_bar((90, 8, 3), (0, 20, 40)),
    ]
    return [pytest.param(prop, id=f"{k}-{prop.name}") for k, prop in enumerate(made)]


def solid(prop):
    return trimesh.Trimesh(prop.placed(), prop.faces, process=False)


@pytest.mark.parametrize("prop", things())
def test_props_are_closed_and_wound_outward(prop):
    body = solid(prop)
    assert body.is_watertight and body.is_winding_consistent and body.volume > 0
    assert body.area_faces.min() > 1e-9
    assert all(part.volume > 0 for part in body.split(only_watertight=False))
    assert set(props.PALETTE) >= {prop.name}


def test_a_turned_ring_has_the_volume_of_pappus_rule():
    outline = [(5, 0), (9, 0), (8, 3), (6, 4)]
    area = Polygon(outline)
    sides = 96
    # Pappus: area times the way of its centroid; a turn in n straight steps sweeps n/(2 pi) sin(2 pi/n) of it
    swept = 2 * math.pi * area.centroid.x * area.area * sides / (2 * math.pi) * math.sin(2 * math.pi / sides)
    for axis in "xyz":
        assert props.lathe(outline, axis, sides).volume == pytest.approx(swept, rel=1e-12)


def test_bought_screws_look_like_their_standards_and_sunk_heads_lie_flush():
    """ISO 4762: head 5.5 wide and 3 tall at M3; ISO 4032: nut 5.5 across flats, 2.4 high (both from memory). A sunk
    head stays below the face and within the cone that is drawn for it."""
    size = SCREWS["M3"]
    made = props.screw(size, 10), props.screw(size, 10, sunk=True), props.nut(size)
    head, sunk, nut = (solid(prop) for prop in made)
    assert head.bounds[:, 2] == pytest.approx([-10, 3]) and head.extents[0] == pytest.approx(5.5, abs=0.02)
    assert sunk.bounds[0][2] == pytest.approx(-10) and -0.4 < sunk.bounds[1][2] <= 0
    radii, z = np.hypot(*sunk.vertices[:, :2].T), sunk.vertices[:, 2]
    assert (radii <= np.maximum(size.cone / 2 + z, size.thread / 2) + 1e-6).all()       # 90 degrees
    assert nut.extents[1] == pytest.approx(5.5) and nut.extents[2] == pytest.approx(2.4)


def test_a_round_box_has_the_volume_of_steiners_formula():
    a, b, c, r = 30.0, 18.0, 12.0, 3.0
    p, q, s = a - 2 * r, b - 2 * r, c - 2 * r
    # Steiner: a box swollen by a ball; the mesh is inscribed in it, so a little less
    swollen = p * q * s + 2 * r * (p * q + q * s + s * p) + math.pi * r**2 * (p + q + s) + 4 / 3 * math.pi * r**3
    volumes = [props.rounded_box((a, b, c), r, steps).volume for steps in (1, 2, 8)]
    assert volumes == sorted(volumes) and volumes[-1] < swollen
    assert volumes[-1] == pytest.approx(swollen, rel=1e-3)


def test_a_wheelset_keeps_its_measures():
    left, right, axle = props.wheelset(17, 20.4, 3.1, 30.3, 6, 3, 46)
    across = np.concatenate([left.vertices[:, 1], right.vertices[:, 1]])
    assert np.abs(across).min() * 2 == pytest.approx(30.3)
    radius = np.hypot(left.vertices[:, 0], left.vertices[:, 2])
    assert radius.max() == pytest.approx(10.2)
    tread = (left.vertices[:, 1] > 30.3 / 2 + 4.5) & (left.vertices[:, 1] < 30.3 / 2 + 5.8)
    assert radius[tread].max() == pytest.approx(8.5)
    assert np.ptp(axle.vertices[:, 1]) == pytest.approx(46)


def test_the_drink_fills_the_cup_to_its_wall():
    cup, drink = props.cup([(0, 46), (8, 50), (45, 60)], [(2, 42), (30, 48), (45, 56)], 28, handle=0.0)
    assert drink.vertices[:, 2].max() == pytest.approx(2 + 28)
    rim = np.hypot(*drink.vertices[:, :2].T).max()
    cut = trimesh.intersections.mesh_plane(solid(cup), (0, 0, 1), (0, 0, 30))
    clear = np.hypot(cut[..., 0], cut[..., 1]).min()
    assert clear == pytest.approx(24, abs=0.1)
    assert clear < rim < clear + 1


def test_rails_stand_exactly_a_gauge_apart_on_the_arc():
    left, right, sleepers = props.track_arc(GAUGE, RADIUS, -30, 75, HEAD, HEIGHT)
    centre = np.array([0, RADIUS])
    inner = np.linalg.norm(left.vertices[:, :2] - centre, axis=1)
    outer = np.linalg.norm(right.vertices[:, :2] - centre, axis=1)
    assert inner.max() == pytest.approx(RADIUS - GAUGE / 2, abs=1e-9)
    assert outer.min() == pytest.approx(RADIUS + GAUGE / 2, abs=1e-9)
    assert left.vertices[:, 2].max() == right.vertices[:, 2].max() == pytest.approx(0)
    assert left.vertices[:, 2].min() == pytest.approx(-HEIGHT)
    assert sleepers.vertices[:, 2].max() == pytest.approx(-HEIGHT)


@pytest.mark.parametrize("start, end", [(0, 90), (-35, 20)])
def test_the_arc_counts_from_the_origin_along_x_and_turns_left(start, end):
    middle = (GAUGE + HEAD) / 2
    for rail, side in zip(props.track_arc(GAUGE, RADIUS, start, end, HEAD, HEIGHT)[:2], (1, -1), strict=True):
        angle = np.degrees(np.arctan2(rail.vertices[:, 0], RADIUS - rail.vertices[:, 1]))
        assert (angle.min(), angle.max()) == pytest.approx((start, end), abs=1e-9)
        for wanted in (start, end):     # the section stands upright, its middle on the rail's own radius
            cut = rail.vertices[np.abs(angle - wanted) < 1e-6]
            away = np.hypot(cut[:, 0], RADIUS - cut[:, 1])
            assert (away.min() + away.max()) / 2 == pytest.approx(RADIUS - side * middle)
            assert np.ptp(away) == pytest.approx(HEAD) and np.ptp(cut[:, 2]) == pytest.approx(HEIGHT)


def test_a_handle_is_held_by_the_wall_and_reaches_out():
    profile = [(0, 46), (8, 50), (75, 60)]
    plain, held = (props.cup(profile, [(2, 44), (75, 55)], 28, handle=handle)[0] for handle in (0.0, 22.0))
    handle = max(solid(held).split(), key=lambda body: body.bounds[1][1])
    wall = trimesh.intersections.mesh_plane(solid(plain), (1, 0, 0), (0, 0, 0))[..., 1:].reshape(-1, 2)
    low, high = handle.bounds
    assert 0.2 * 75 < low[2] and high[2] < 0.9 * 75 and abs(low[0] + high[0]) < 1e-6
    assert low[1] < 28 and high[1] == pytest.approx(wall[:, 0].max() + 22), "ends in the wall, bow off it"
    inside = 22.0           # the wall is 2 mm and more thick: nothing of the handle shows on the inner side
    assert np.hypot(handle.vertices[:, 0], handle.vertices[:, 1]).min() > inside
    # Sheet metal 0.8 mm thick: a handle's ends lie just under its skin, further from the inside than edges are lifted.
    mug, _ = props.cup([(0, 66), (70, 76)], [(0.8, 64.5), (70, 74.4)], 46, handle=28.0)
    ring = min(trimesh.Trimesh(mug.vertices, mug.faces).split(), key=lambda body: np.ptp(body.vertices[:, 0]))
    off = np.interp(ring.vertices[:, 2], (0, 70), (33, 38)) - np.hypot(ring.vertices[:, 0], ring.vertices[:, 1])
    assert 0.05 < off.max() < 0.1
