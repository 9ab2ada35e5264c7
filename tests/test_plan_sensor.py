"""What looks down at the track as planned: where its tray hangs, its marker, and the gauges to print, by p."""

import numpy as np
import pytest
from msgspec.structs import replace
from plans import MODULES, plan_of, train_of
from shapely import LineString, Polygon


@pytest.mark.parametrize("name", ["eye", "lens"])
@pytest.mark.parametrize("gap, rail", [(4.0, 4.0), (6.5, 4.5), (3.0, 7.2)])
def test_what_looks_down_hangs_at_its_gap_over_the_marker(name, gap, rail):
    """The face lies on the tray's sole; the marker is taped to the sleepers, its top 0.8 mm below the flanges."""
    train = train_of({"modules": [name, "tray"], "sensor_gap": gap}, track={"rail_height": rail, "use": "toy-37.5"})
    plan, marker = train.wagons[0], train.trackside.marker
    one, = plan.hung
    flange = (plan.wheelset.flange_diameter - plan.wheelset.tread_diameter) / 2
    assert marker.height == pytest.approx(rail - flange - 0.8 - 0.2)
    assert train.marker_top == pytest.approx(-flange - 0.8)
    assert one.face == pytest.approx(-flange - 0.8 + gap) and one.bottom == pytest.approx(one.face - 1.0)
    assert (one.up, one.down) == pytest.approx((2.0, min(3.0, gap - 1.0 - 0.5)))
    size = np.array(MODULES[name].get("head", [MODULES[name][side] for side in ("length", "width", "height")]))
    assert sorted(one.size[:2]) == sorted(size[:2]) and one.size[2] == size[2]
    # 0.1 mm by hand and 0.15 mm because openings print small
    play = np.array((one.tray.inner_x, one.tray.inner_y)) - one.size[:2]
    assert play == pytest.approx(np.array((0.25, 0.25)), abs=0.01)
    assert one.lug.middle == pytest.approx(one.bottom + one.tray.screw_z)
    assert (one.lug.high - one.lug.middle, one.lug.middle - one.lug.low) == pytest.approx((one.up, one.down))
    steps = np.array(one.lug.marks) - one.lug.middle
    assert 0.0 in steps.round(6) and np.diff(steps) == pytest.approx(1.0)
    assert len(steps) == int(one.up + 1e-9) + int(one.down + 1e-9) + 1
    assert one.lug.y - one.tray.half_y - one.tray.block == pytest.approx(0.2)
    placed = {placed.name for placed in plan.layout.placed}
    assert placed == ({"tray"} if name == "eye" else {"tray", "lens"}), "a board that looks down lies in the body"
    assert [name for name, _ in plan.modules].count(one.name) == 1


def test_a_tray_hangs_clear_of_all_that_moves_and_between_the_rails():
    """Wheels and holders at the ends of their travel, worked out from the wheelset and the holder's own plan."""
    plan = plan_of({"modules": ["eye", "tray"], "wheelbase": 70.0})
    one, = plan.hung
    low, high = one.way.x - one.tray.half_x, one.way.x + one.tray.half_x
    for axle in plan.gear.axles:
        reach = plan.gear.travel + max(plan.wheelset.flange_diameter / 2, plan.gear.holder.half_length)
        assert high <= axle - reach - 1.0 + 0.06 or low >= axle + reach + 1.0 - 0.06
    assert one.tray.half_y <= 37.5 / 2 - 3.0 and one.lug.outside + one.tray.wall <= plan.frame.width / 2
    assert abs(one.way.y) in (pytest.approx(0.0, abs=0.06), pytest.approx(8.0, abs=0.06))
    # 10 x 8 mm, 9 mm before the board's middle and 1 mm beside it
    assert np.abs(np.array(one.eye) - (one.way.x, 0.0)) == pytest.approx((9.0, 1.0)) and one.sees == pytest.approx(6.0)


@pytest.mark.parametrize("x, base, bogie, radius", [(0.0, 60.0, 0.0, 300.0), (12.5, 70.0, 0.0, 320.0),
                                                    (-40.0, 160.0, 36.0, 600.0)])
def test_how_far_it_is_off_the_track_on_a_curve(x, base, bogie, radius):
    """Points on circles: axles on the centre line, pivots midway between theirs, the tray on the line of the pivots.
    Two-axle, 60 mm on 300 mm: 1.5038 mm at its middle (reference table of overthrow, CALC)."""
    one, = plan_of({"modules": ["eye", "tray"]}).hung
    one = replace(one, way=replace(one.way, x=x))
    turn = np.arcsin(base / 2 / np.sqrt(radius**2 - bogie**2 / 4))
    pivots = radius * np.cos(np.arcsin(bogie / 2 / radius))
    front, rear = (pivots * np.exp(1j * (np.pi / 2 + s * turn)) for s in (-1, 1))
    at = (front + rear) / 2 + x * (front - rear) / abs(front - rear)
    assert one.throw(base, bogie, radius) == pytest.approx(abs(radius - abs(at)))
    ends = [at + end * (front - rear) / abs(front - rear) for end in (0, -9, 9, -abs(x) if abs(x) < 9 else 0)]
    assert one.throw(base, bogie, radius, 9.0) == pytest.approx(max(abs(radius - abs(end)) for end in ends))
    if not x:
        assert one.throw(base, bogie, radius) == pytest.approx(1.5038, abs=1e-4)


def test_a_tray_weighs_what_its_boxes_do():
    for name in ("eye", "lens"):
        tray = plan_of({"modules": [name, "tray"]}).hung[0].tray
        wide, block = 2 * tray.half_y, Polygon([(0, 0), (tray.block, tray.block), (tray.block, tray.block_top),
                                                (-tray.wall, tray.block_top), (-tray.wall, 0)]).area
        pocket = tray.nut * (tray.block_top - tray.screw_z) + tray.nut**2 * (3**-0.5 - 3**-0.5 / 4)
        walls = (tray.inner_x + 2 * tray.wall) * wide * tray.tray
        shared = min(2 * tray.block_half, tray.inner_x + 2 * tray.wall) * tray.wall * min(tray.tray, tray.block_top)
        hollow = tray.inner_x * tray.inner_y * (tray.tray - tray.sole) + tray.lens.length * tray.lens.width * tray.sole
        expected = (walls + 2 * tray.block_half * block - shared - hollow - pocket * tray.nut_deep
                    - 0.785 * tray.screw_hole**2 * tray.plate)
        assert tray.volume == pytest.approx(expected, rel=0.03)


def test_marker_and_gauges_by_their_outlines():
    plan = train_of({"modules": ["eye", "tray"]}, ride={"speed": 900.0, "sample_time": 0.03})
    marker = plan.trackside.marker
    assert marker.width == 37.5 - 4.0
    side = Polygon([(0, 0), (marker.length / 2 + 8, 0), (marker.length / 2 + 8, marker.tip),
                    (marker.length / 2 + 2, marker.height), (0, marker.height)])
    recess = marker.length * (marker.width - 4) * marker.recess
    assert marker.volume == pytest.approx(2 * side.area * marker.width - recess, rel=1e-3)
    assert marker.recess == 0.2 and marker.centroid_z == pytest.approx(0.47 * marker.height)
    assert marker.tip == pytest.approx(2 * 0.45 + 0.05)
    items = {item.part: item.plan for item in plan.trackside.items}
    rail, wheel, template = items["track-gauge"], items["wheel-gauge"], items["radius-template"]
    track, printer = plan.description.track, plan.description.printer
    assert (rail.go, rail.no_go) == pytest.approx((37.5 - printer.peg_offset,
                                                   37.5 + track.gauge_tolerance + 0.1 - printer.peg_offset))
    assert rail.back == pytest.approx(37.5 + 2 * (track.rail_head + 12))
    assert rail.volume == pytest.approx(4 * (rail.back * 12 + (rail.go + rail.no_go) * 5))
    assert rail.size == (rail.back, 22.0, 4.0) and rail.centroid_z == 2.0
    wheels = plan.wagons[0].wheelset
    assert (wheel.go, wheel.no_go) == pytest.approx((wheels.back_to_back - 0.1 - printer.peg_offset,
                                                     wheels.back_to_back + 0.2 - printer.peg_offset))
    assert wheel.back == wheels.back_to_back - 4
    assert wheel.volume == pytest.approx(4 * (wheel.back * 12 + (wheel.go + wheel.no_go) * 5))
    assert template.radius == track.min_radius + 37.5 / 2
    turn = np.linspace(-1, 1, 4001) * np.arcsin(template.chord / 2 / template.radius)
    arc = template.radius * np.column_stack([np.sin(turn), np.cos(turn) - np.cos(turn[0])])
    hole = LineString([(-template.chord / 4 + 4, 0), (template.chord / 4 - 4, 0)]).buffer(4.0, quad_segs=64)
    outline = Polygon(arc).area + 18 * template.chord - hole.area
    assert template.volume == pytest.approx(4 * outline, rel=1e-3)
    assert template.rise == pytest.approx(arc[:, 1].max(), rel=1e-6) and template.size[1] == pytest.approx(
        18 + template.rise)
    assert template.chord == pytest.approx(min(120.0, 0.7 * min(printer.bed_x, printer.bed_y), template.radius))


def test_two_sensors_hang_one_behind_the_other():
    """Both trays hang in the track's middle, with a millimetre between them at least."""
    plan = plan_of({"modules": ["eye", "lens"]})
    behind, ahead = sorted(plan.hung, key=lambda one: one.way.x)
    assert ahead.way.x - ahead.tray.half_x >= behind.way.x + behind.tray.half_x + 1.0
