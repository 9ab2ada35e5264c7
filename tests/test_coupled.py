"""Coupled pairs against a root finder on a step-by-step track and shapely's distances; outlines against shapely."""

from math import cos, pi, radians, sin

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq
from shapely import affinity
from tracks import Track, laid, mirrored

from partgen.motion.convex import corners_of, gaps, outermost, rim_of
from partgen.motion.coupled import Link, couple, pair
from partgen.motion.path import Path, arc, straight
from partgen.motion.vehicle import Vehicle

PLANS = {"entry": [("straight", 260), ("left", 320, 90), ("straight", 260)],
         "reverse": [("straight", 260), ("left", 320, 70), ("right", 250, 80), ("straight", 260)],
         "loose": [("straight", 300), ("right", 400, 60), ("straight", 40), ("left", 330, 50), ("straight", 300)]}
LINKS = {"two-axle": Link(Vehicle(70), Vehicle(60), 58, 49, 25, 19),
         "bogies ahead": Link(Vehicle(110, 32), Vehicle(64), 74, 52, 20, 26),
         "bogies behind": Link(Vehicle(64), Vehicle(130, 40), 51, 83, 23, 21),
         "couplers on bogies": Link(Vehicle(120, 34), Vehicle(130, 40), 98, 104, 22, 20, 38, 39),
         "one on its bogie": Link(Vehicle(70), Vehicle(110, 36), 58, 93, 25, 19, 0, 38)}
HALVES = (66.0, 24.0), (58.0, 28.0)         # length and width of the bodies


def box(half_length, half_width):
    return np.array([(x * half_length, y * half_width) for x, y in ((1, 1), (-1, 1), (-1, -1), (1, -1))])


BODIES = box(*HALVES[0]), box(*HALVES[1])


def posed(outline, origin, ahead):
    return affinity.affine_transform(shapely.Polygon(outline), [ahead.real, -ahead.imag, ahead.imag, ahead.real,
                                                                origin.real, origin.imag])


def judged(track, link, lead):
    """Both vehicles' origin and direction, the drawbars' direction, where they meet, the bodies' distance, and the
    directions of what the drawbars turn on."""
    origin, ahead = track.pose(link.front.base, link.front.bogie, lead)
    hook, holds = origin - link.front_pivot * ahead, ahead
    if link.front_arm:
        one, other = track.axles(track.trailing(link.front.base, link.front.bogie, lead), link.front.bogie)
        holds = (one - other) / abs(one - other)
        hook = (one + other) / 2 - link.front_arm * holds

    def eye_at(s):
        there, heading = track.pose(link.rear.base, link.rear.bogie, s)
        if not link.rear_arm:
            return there + link.rear_pivot * heading, heading
        one, other = track.axles(s, link.rear.bogie)
        return (one + other) / 2 + link.rear_arm * (one - other) / abs(one - other), (one - other) / abs(one - other)

    def miss(s):
        return abs(hook - eye_at(s)[0]) - link.length

    about = lead - (link.front.base - link.rear.base) / 2 - link.front_pivot - link.length - link.rear_pivot
    stands = brentq(miss, about - 20, about + 20, xtol=1e-10)
    there, heading = track.pose(link.rear.base, link.rear.bogie, stands)
    eye, held = eye_at(stands)
    bar = (hook - eye) / link.length
    gap = posed(box(*HALVES[0]), origin, ahead).distance(posed(box(*HALVES[1]), there, heading))
    return origin, ahead, there, heading, bar, hook - link.front_bar * bar, gap, holds, held


@pytest.fixture(scope="module", params=[(plan, link) for plan in PLANS for link in LINKS], ids=" ".join)
def case(request):
    plan, link = request.param
    return laid(PLANS[plan]), Track(PLANS[plan]), LINKS[link]


def test_a_pair_stands_where_a_root_finder_puts_it(case):
    path, track, link = case
    leads = np.arange(240.0, track.length + 150, 31.0)
    at = pair(path, link, leads)
    for k, lead in enumerate(leads):
        origin, ahead, there, heading, bar, joint, _, holds, held = judged(track, link, lead)
        assert np.abs(np.subtract((at.front_holds[k], at.rear_holds[k]), (holds, held))).max() < 1e-5
        found = (at.front.origin[k], at.front.ahead[k], at.rear.origin[k], at.rear.ahead[k], at.ahead[k], at.joint[k])
        assert np.abs(np.subtract(found, (origin, ahead, there, heading, bar, joint))).max() < 1e-5


def test_worst_swings_and_gap_are_those_of_a_dense_run(case):
    path, track, link = case
    seen = [judged(track, link, lead) for lead in np.arange(240.0, track.length + 150, 12.0)]
    swings = np.array([[np.angle(one[4] / one[7]), np.angle(one[4] / one[8])] for one in seen])
    found = couple(path, link, BODIES)
    for worst, swing in zip((found.worst_front_swing, found.worst_rear_swing), swings.T, strict=True):
        farthest = swing[np.abs(swing).argmax()]
        assert abs(farthest) - 1e-6 <= abs(worst.value) <= abs(farthest) + radians(0.4)     # it may lie between ours
        assert np.sign(worst.value) == np.sign(farthest)
    least = min(one[6] for one in seen)
    assert least - 0.3 <= found.least_gap.value <= least + 1e-5


def test_worst_places_are_real(case):
    """At the very stand that is named the judge sees the same, and the joint is at the station named."""
    path, track, link = case
    found = couple(path, link, BODIES)
    for worst, look in ((found.worst_front_swing, lambda seen: np.angle(seen[4] / seen[7])),
                        (found.worst_rear_swing, lambda seen: np.angle(seen[4] / seen[8])),
                        (found.least_gap, lambda seen: seen[6])):
        seen = judged(track, link, worst.lead)
        assert look(seen) == pytest.approx(worst.value, abs=2e-5)
        station, _ = track.beside(seen[5][None], worst.station, 60.0)
        assert station[0] == pytest.approx(worst.station, abs=0.05)
        assert worst.piece == path.piece_at(worst.station)


def test_mirrored_track_turns_the_drawbars_the_other_way():
    one, other = (couple(laid(plan), LINKS["bogies ahead"], BODIES)
                  for plan in (PLANS["reverse"], mirrored(PLANS["reverse"])))
    assert one.worst_front_swing.value == pytest.approx(-other.worst_front_swing.value, abs=1e-6)
    assert one.worst_rear_swing.value == pytest.approx(-other.worst_rear_swing.value, abs=1e-6)
    assert one.least_gap.value == pytest.approx(other.least_gap.value, abs=1e-6)


def test_steady_swing_on_a_long_arc_by_plane_geometry():
    # both vehicles' pivots lie on circles round the curve's centre; the drawbar is a chord between them
    link, radius = LINKS["two-axle"], 340.0
    middles = [np.sqrt(radius**2 - base**2 / 4) for base in (70, 60)]
    hooks = np.hypot(middles[0], 58), np.hypot(middles[1], 49)
    bar = 25 + 19
    # triangle centre, hook, eye by the law of cosines; a vehicle's axis stands square to its middle's radius
    at_hook = np.arccos((hooks[0]**2 + bar**2 - hooks[1]**2) / (2 * hooks[0] * bar))
    at_eye = np.arccos((hooks[1]**2 + bar**2 - hooks[0]**2) / (2 * hooks[1] * bar))
    found = couple(Path((arc(radius, 360, "left"),), closed=True), link, BODIES)
    assert abs(found.worst_front_swing.value) == pytest.approx(pi / 2 - at_hook + np.arctan(58 / middles[0]), abs=1e-6)
    assert abs(found.worst_rear_swing.value) == pytest.approx(pi / 2 - at_eye + np.arctan(49 / middles[1]), abs=1e-6)
    assert found.worst_front_swing.value < 0 < found.worst_rear_swing.value     # on a left curve


def test_a_closed_plan_is_the_same_wherever_it_begins():
    oval = [("straight", 80), ("left", 320, 180), ("straight", 210), ("left", 320, 180), ("straight", 130)]
    other = [("straight", 210), ("left", 320, 180)] * 2
    one, two = (couple(laid(plan, True), LINKS["two-axle"], BODIES) for plan in (oval, other))
    assert one.worst_front_swing.value == pytest.approx(two.worst_front_swing.value, abs=1e-6)
    assert one.least_gap.value == pytest.approx(two.least_gap.value, abs=1e-6)
    for found, path in ((one, laid(oval)), (two, laid(other))):
        assert 0 <= found.worst_front_swing.station < path.length


@pytest.mark.parametrize("ahead, behind, gap", [(45, 45, -7), (30, 45, 8), (30, 30, 23)])
def test_the_gap_is_what_the_bodies_leave_and_overlap_is_negative(ahead, behind, gap):
    link = Link(Vehicle(40), Vehicle(40), 30, 31, 10, 12)       # origins 83 mm apart on straight track
    found = couple(Path((straight(500),)), link, (box(ahead, 20), box(behind, 20)))
    assert found.least_gap.value == pytest.approx(gap)


def test_too_tight_a_track_is_told():
    with pytest.raises(ValueError, match="finds no place on this track"):
        couple(Path((arc(60, 300, "left"),)), Link(Vehicle(70), Vehicle(125), 58, 70, 25, 19), BODIES)


@pytest.mark.parametrize("place, name", enumerate(["front_pivot", "rear_pivot", "front_bar", "rear_bar"]))
@pytest.mark.parametrize("value", [0.0, -3.0, float("nan"), float("inf")])
def test_bad_links_are_refused(place, name, value):
    lengths = [30.0, 31.0, 10.0, 12.0]
    lengths[place] = value
    with pytest.raises(ValueError, match=f"{name} = {value} mm couples nothing: it must be above 0"):
        Link(Vehicle(40), Vehicle(45), *lengths)
    lengths[place] = 0.1
    assert Link(Vehicle(40), Vehicle(45), *lengths).length == pytest.approx(sum(lengths[2:]))


# ---- distances of outlines

hulls = st.lists(st.tuples(st.floats(2, 60), st.floats(0.2, 1)), min_size=3, max_size=9)


def hull(spokes, scale=1.0):
    """A convex outline from spokes (length, gap of angle) round its origin."""
    turn = np.cumsum([gap for _, gap in spokes])
    reach = np.array([length for length, _ in spokes])
    points = np.column_stack([reach * np.cos(2 * pi * turn / turn[-1]), reach * np.sin(2 * pi * turn / turn[-1])])
    return shapely.get_coordinates(shapely.convex_hull(shapely.MultiPoint(points * scale)))[:-1]


def way_apart(one, other):
    """The shortest way that takes overlapping outlines apart: from 0 to the rim of their difference, by shapely."""
    corners = (shapely.get_coordinates(other)[:, None] - shapely.get_coordinates(one)[None]).reshape(-1, 2)
    return shapely.Point(0, 0).distance(shapely.convex_hull(shapely.MultiPoint(corners)).exterior)


@settings(max_examples=150)
@given(hulls, hulls, st.floats(-90, 90), st.floats(-90, 90), st.floats(-pi, pi))
def test_gaps_against_shapely(one, other, x, y, turn):
    one, other = hull(one), hull(other)
    if min(shapely.Polygon(shape).area for shape in (one, other)) < 1:
        return
    origin, ahead = complex(x, y), complex(cos(turn), sin(turn))
    stands, moved = shapely.Polygon(one), posed(other, origin, ahead)
    found, = gaps(corners_of(one), corners_of(other), np.array([origin]), np.array([ahead]))
    expected = stands.distance(moved) or -way_apart(stands, moved)
    assert found == pytest.approx(expected, abs=1e-5)


# ---- the points of an outline that can be the farthest


@settings(max_examples=150)
@given(hulls, st.floats(0.05, 1.45), st.floats(-1, 1), st.floats(2, 40), st.sampled_from([1.0, -1.0]))
def test_the_farthest_to_a_side_is_on_the_rim_however_the_track_is_turned(spokes, yaw, share, spacing, side):
    outline = hull(spokes)
    if shapely.Polygon(outline).area < 1:
        return
    rim = rim_of(outline, side, yaw, spacing)
    across = side * 1j * np.exp(1j * yaw * share)       # out of the track, turned against the outline

    def reach(z):
        return (z * np.conj(across)).real

    along = rim.room * abs((rim.along * np.conj(across)).real)
    assert (reach(rim.point) + along).max() == pytest.approx(reach(outline @ [1, 1j]).max(), abs=1e-9)
    assert rim.room.max(initial=0) <= spacing / 2 + 1e-9
    # a stretch lies on the outline, from end to end
    ends = np.concatenate([rim.point - rim.room * rim.along, rim.point + rim.room * rim.along])
    edge = shapely.Polygon(outline).exterior
    assert shapely.distance(edge, shapely.points(ends.real, ends.imag)).max(initial=0) < 1e-9


@settings(max_examples=80)
@given(st.lists(st.tuples(hulls, st.floats(-30, 30), st.floats(0.3, 1)), min_size=1, max_size=5))
def test_what_lies_in_no_other_outline_is_outermost(shapes):
    outlines = [hull(spokes, scale) + [ahead, 0] for spokes, ahead, scale in shapes]
    filled = [shapely.Polygon(outline) for outline in outlines]
    if min(shape.area for shape in filled) < 1:
        return
    kept = outermost(outlines)
    assert shapely.union_all([filled[k] for k in kept]).area == pytest.approx(shapely.union_all(filled).area)
    for k in kept:
        assert not any(filled[other].buffer(-1e-6).contains(filled[k]) for other in range(len(filled)) if other != k)
    for k in set(range(len(filled))) - set(kept):
        assert any(filled[other].buffer(1e-6).contains(filled[k]) for other in kept)
