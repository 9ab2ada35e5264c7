"""Curve formulas against published figures, a sweep with shapely, and their own wide-curve limits.

Marks of the figures: SEEN, read in the source; SEEN-2, read on a secondary page;
MEM, from memory; CALC, worked out, a regression value and no outside authority.
"""

import cmath
import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from partgen.formulas import curve

TWELVE = math.radians(12)


# ---- throws


@pytest.mark.parametrize("radius, inner, inner_form, corner, end, end_form", [
    # CALC regression: wheelbase 60, length 120, width 60, no bogies
    (300, 1.5038, 1.5000, 3.9308, 4.4667, 4.5000),
    (200, 2.2628, 2.2500, 5.5085, 6.6398, 6.7500),
])
def test_two_axle_wagon(radius, inner, inner_form, corner, end, end_form):
    assert curve.inner_throw(radius, 60) == pytest.approx(inner, abs=1e-4)
    assert curve.mid_throw(radius, 60) == pytest.approx(inner_form, abs=1e-9)
    assert curve.outer_throw(radius, 60, 120, 60) == pytest.approx(corner, abs=1e-4)
    assert curve.outer_throw(radius, 60, 120, 0) == pytest.approx(end, abs=1e-4)
    assert curve.end_throw(radius, 60, 120) == pytest.approx(end_form, abs=1e-9)


@pytest.mark.parametrize("scale, radius, groups", [
    # SEEN: MOROP NEM 103 (2016), extra half width E [mm] of car groups A, B, C
    (87, 600, (4, 6, 9)), (87, 800, (3, 4, 6)), (87, 1000, (2, 3, 4)), (87, 1200, (1, 2, 3)),
    (87, 1600, (0, 1, 2)), (87, 2000, (0, 0, 1)),
    (45, 1000, (10, 17, 22)), (45, 1200, (8, 14, 18)), (45, 1600, (6, 9, 13)), (45, 2000, (4, 7, 9)),
    (45, 3000, (2, 3, 5)),
    (32, 1200, (16, 25, 34)), (32, 1600, (11, 18, 24)), (32, 2000, (7, 13, 18)), (32, 3000, (3, 7, 10)),
])
def test_nem_103_widening_is_the_throw_less_a_slack_of_the_scale(scale, radius, groups):
    slack = {87: (1.0, 2.4), 45: (1.2, 3.1), 32: (3.9, 5.6)}[scale]  # SEEN as the spread of the same table
    pivots = np.array([14000, 17200, 19500]) / scale
    left = curve.mid_throw(radius, pivots) - groups
    for value in left[np.array(groups) > 0]:
        assert slack[0] <= round(float(value), 1) <= slack[1]


radii = st.floats(100, 1e5)
shares = st.floats(0.01, 0.4)  # of the radius


@settings(deadline=None)
@given(radii, shares, shares, st.floats(0, 0.1))
def test_section_forms_meet_mid_and_end_throw(radius, a, overhang, p):
    # SEEN-2 for mid and end throw (railway engineering chapter), MEM for the section forms
    a, length, p = a * radius, (a + 2 * overhang) * radius, p * radius
    inside = curve.section_inside(radius, a, a / 2, p)
    outside = curve.section_outside(radius, a, (length - a) / 2, p)
    assert inside == pytest.approx((a**2 + p**2) / (8 * radius))
    assert outside == pytest.approx((length**2 - a**2 - p**2) / (8 * radius), abs=1e-9 * radius)
    assert curve.section_inside(radius, a, a / 2) == pytest.approx(curve.mid_throw(radius, a))
    assert curve.section_outside(radius, a, (length - a) / 2) == pytest.approx(
        curve.end_throw(radius, a, length))


@settings(deadline=None)
@given(st.floats(20, 150), st.floats(0, 100), st.floats(1, 3), st.floats(0, 80))
def test_exact_throws_tend_to_the_handbook_as_the_curve_widens(a, p, stretch, width):
    length = a * stretch
    for radius in (1e3, 1e4, 1e5):
        # the next term of each series is of the order (half length / R)^2, or half width / R, of the throw
        next_term = ((length + p) / radius) ** 2 + width / radius
        inner = curve.section_inside(radius, a, a / 2, p)
        outer = curve.section_outside(radius, a, (length - a) / 2, p)
        outer_size = (length**2 + a**2 + p**2) / (8 * radius)
        assert curve.inner_throw(radius, a, p) == pytest.approx(inner, rel=next_term, abs=1e-9)
        assert curve.outer_throw(radius, a, length, width, p) == pytest.approx(
            outer, abs=outer_size * next_term + 1e-9)


def test_arrays_in_arrays_out():
    radius = np.array([200.0, 300.0])
    assert curve.inner_throw(radius, 60) == pytest.approx([2.2628, 1.5038], abs=1e-4)
    assert curve.outer_throw(radius, 60, 120, 60) == pytest.approx([5.5085, 3.9308], abs=1e-4)
    assert curve.pivot_radius(np.array([50, 13]), np.array([60, 10])) == pytest.approx([40, 12])


# ---- outlines: an independent sweep, axles walked along a drawn track


def on_arc(radius, hand, distance):
    """Point x + iy of a curve that leaves the origin along +x and bends left (hand 1) or right (-1)."""
    return hand * 1j * radius * (1 - cmath.exp(-hand * 1j * distance / radius))


def halving(length_at, wanted, high):
    """Where a growing function takes a wanted value, from 0 to high."""
    low = 0.0
    for _ in range(44):
        middle = (low + high) / 2
        low, high = (middle, high) if length_at(middle) < wanted else (low, middle)
    return low


def chord_points(radius, hand, start, chord):
    """Two points of the curve a chord apart, the hinder one first."""
    rear = on_arc(radius, hand, start)
    arc = halving(lambda arc: abs(on_arc(radius, hand, start + arc) - rear), chord, math.pi * radius)
    return rear, on_arc(radius, hand, start + arc)


def guided_points(radius, hand, start, wheelbase, bogie_wheelbase):
    """Two axles on the track, or the pivots of two bogies whose four axles are on the track."""
    if not bogie_wheelbase:
        return chord_points(radius, hand, start, wheelbase)

    def pivot(arc):
        return sum(chord_points(radius, hand, start + arc, bogie_wheelbase)) / 2

    rear = pivot(0.0)
    return rear, pivot(halving(lambda arc: abs(pivot(arc) - rear), wheelbase, math.pi * radius))


def sweep(outline, radius, hand, wheelbase, bogie_wheelbase):
    """Reach of the swept outline inside and outside the drawn curve, by shapely."""
    body = shapely.Polygon(outline)
    poses = []
    for start in np.linspace(0, radius / 2, 40):
        rear, front = guided_points(radius, hand, start, wheelbase, bogie_wheelbase)
        ahead, middle = (front - rear) / abs(front - rear), (front + rear) / 2
        turned = [ahead.real, -ahead.imag, ahead.imag, ahead.real, middle.real, middle.imag]
        poses.append(affinity.affine_transform(body, turned))
    swept, centre = shapely.union_all(poses), shapely.Point(0, hand * radius)
    farthest = max(shapely.distance(centre, shapely.points(shapely.get_coordinates(swept))))
    return radius - swept.distance(centre), farthest - radius


def box(length, width, ahead=0.0, left=0.0):
    return [(ahead + x * length / 2, left + y * width / 2) for x, y in ((1, 1), (-1, 1), (-1, -1), (1, -1))]


ROUNDED = shapely.get_coordinates(shapely.Polygon(box(100, 30)).buffer(15, quad_segs=12).exterior)[:-1]
NOTCHED = [(70, 28), (20, 28), (0, 4), (-20, 28), (-70, 28), (-70, -33), (70, -33)]


@pytest.mark.parametrize("outline", [box(120, 60), box(90, 50, 13, -4), ROUNDED, NOTCHED],
                         ids=["box", "box aside", "rounded", "notched"])
@pytest.mark.parametrize("radius, wheelbase, bogie",
                         [(320, 60, 0), (200, 90, 0), (320, 110, 42), (1200, 75, 30)])
def test_outline_throw_against_a_sweep(outline, radius, wheelbase, bogie):
    both = [sweep(outline, radius, hand, wheelbase, bogie) for hand in (1, -1)]
    inner, outer = curve.outline_throw(outline, radius, wheelbase, bogie)
    assert inner == pytest.approx(max(reach[0] for reach in both), abs=0.02)
    assert outer == pytest.approx(max(reach[1] for reach in both), abs=0.02)


@pytest.mark.parametrize("radius, wheelbase, bogie", [(320, 60, 0), (200, 90, 0), (320, 110, 42)])
def test_box_throws_against_a_sweep(radius, wheelbase, bogie):
    inner, outer = sweep(box(140, 56), radius, 1, wheelbase, bogie)
    assert curve.inner_throw(radius, wheelbase, bogie) == pytest.approx(inner - 28, abs=0.02)
    assert curve.outer_throw(radius, wheelbase, 140, 56, bogie) == pytest.approx(outer - 28, abs=0.02)


spokes = st.lists(st.tuples(st.floats(1, 120), st.floats(0.1, 1)), min_size=3, max_size=9)


@settings(deadline=None)
@given(spokes, st.floats(-60, 60), st.floats(-60, 60), st.floats(40, 400))
def test_any_outline_against_shapely(spokes, ahead, left, radius):
    # a star-shaped outline, often concave, sometimes lying over the centre of the curve
    turn = np.cumsum([gap for _, gap in spokes])
    turn = 2 * np.pi * turn / turn[-1]
    reach = np.array([length for length, _ in spokes])
    outline = np.column_stack([ahead + reach * np.cos(turn), left + reach * np.sin(turn)])
    body, xm = shapely.Polygon(outline), curve.mid_radius(radius, 40)
    centres = shapely.points([(0, xm), (0, -xm)])
    inner, outer = curve.outline_throw(outline, radius, 40)
    assert inner == pytest.approx(radius - min(shapely.distance(body, centres)), abs=1e-6)
    assert outer == pytest.approx(max(shapely.hausdorff_distance(body.exterior, centres)) - radius, abs=1e-6)


def test_outline_over_the_centre_reaches_the_whole_radius():
    assert curve.outline_throw(box(100, 400), 100, 40)[0] == 100
    assert curve.outline_throw(box(100, 150), 100, 40)[0] < 100


def test_outline_on_one_side_only():
    inner, outer = curve.outline_throw(box(40, 10, left=35), 320, 40)
    assert (inner, outer) == pytest.approx(curve.outline_throw(box(40, 10, left=-35), 320, 40))
    assert inner == pytest.approx(40 + curve.inner_throw(320, 40))


# ---- attack angle and smallest radius


def test_attack_angle_of_nem_111():
    # SEEN: NEM 111 (2016) page 1, at most 12 degrees; the factor and the radius are CALC
    assert curve.min_radius_for_attack(1, TWELVE) == pytest.approx(2.4049, abs=1e-4)
    assert curve.min_radius_for_attack(50, TWELVE) == pytest.approx(120.24, abs=0.01)
    assert curve.attack_angle(50, 120.24) == pytest.approx(TWELVE, abs=1e-4)


@pytest.mark.parametrize("multiple, wheelbase", [(50, 5.0), (57, 8.0), (71, 10.0)])
def test_smallest_radii_of_nem_111_keep_its_attack_angle(multiple, wheelbase):
    # SEEN: NEM 111 (2016) page 2, classes A1 to A3: radius in gauges, wheelbase [m]; NEM 010: 1:87, 16.5 mm
    assert curve.attack_angle(wheelbase * 1000 / 87, multiple * 16.5) < TWELVE


@pytest.mark.parametrize("gauge, multiples, printed", [
    # SEEN-2: a copy of NEM 111's general ladder, tolerance 1 mm
    (16.5, (22, 25, 30, 35, 40, 45), (363, 412, 495, 577, 660, 742)),
    (9, (15, 20, 25, 30), (135, 180, 225, 270)),
    (12, (15, 20, 25, 30), (180, 240, 300, 360)),
])
def test_radius_ladder_of_nem_111(gauge, multiples, printed):
    longest = 2 * np.sin(TWELVE) * gauge * np.array(multiples)
    assert curve.min_radius_for_attack(longest, TWELVE) == pytest.approx(printed, abs=1)


@settings(deadline=None)
@given(st.floats(1, 500), st.floats(0.01, math.pi / 2))
def test_attack_angle_undoes_smallest_radius(wheelbase, limit):
    radius = curve.min_radius_for_attack(wheelbase, limit)
    assert curve.attack_angle(wheelbase, radius * (1 + 1e-12)) == pytest.approx(limit, abs=1e-5)


# ---- degrees of curve and middle ordinates


@pytest.mark.parametrize("degree, feet, inches", [
    # SEEN: NMRA S-8 (old edition), radius [ft] and O-scale radius [in], 1:48
    (5, 1146, 287), (10, 574, 144), (15, 383, 96), (20, 288, 72),
    (25, 231, 58), (30, 193, 48), (40, 146, 36.5), (45, 131, 33)])
def test_degrees_of_nmra_s_8(degree, feet, inches):
    radius = curve.radius_of_degree(math.radians(degree)) / 304.8
    assert radius == pytest.approx(feet, abs=0.5)
    # the table rounds twice, 573.69 ft to 574 and 143.5 in to 144: half an inch, and a quarter of half a foot
    assert radius * 12 / 48 == pytest.approx(inches, abs=0.5 + 0.5 * 12 / 48)


@pytest.mark.parametrize("degree, feet", [(1, 5730), (5, 1146), (10, 573.7)])
def test_degrees_of_a_nineteenth_century_handbook(degree, feet):
    # SEEN: G. L. Vose's table
    assert curve.radius_of_degree(math.radians(degree)) / 304.8 == pytest.approx(feet, abs=0.5)


def test_middle_ordinate_of_62_feet_is_an_inch_a_degree():
    # MEM for the rule, SEEN for the 62 ft string (an army railway manual), CALC for 1.0064 in
    radius = curve.radius_of_degree(math.radians(1))
    assert radius / 304.8 == pytest.approx(5729.65, abs=0.01)
    assert curve.versine(radius, 62 * 304.8) / 25.4 == pytest.approx(1.0064, abs=1e-4)
    for degree in (2, 4, 8):
        ordinate = curve.versine(curve.radius_of_degree(math.radians(degree)), 62 * 304.8) / 25.4
        assert ordinate == pytest.approx(degree, rel=0.01)


@settings(deadline=None)
@given(st.floats(10, 1e5), st.floats(0.01, 1.0))
def test_versine_against_the_arc_itself(radius, half_angle):
    # the arc's middle is at R, its chord's at R cos: no root in it, unlike the formula
    chord = 2 * radius * math.sin(half_angle)
    exact = 2 * radius * math.sin(half_angle / 2) ** 2
    assert curve.versine(radius, chord) == pytest.approx(exact, rel=1e-6)
    assert curve.versine_approx(radius, chord) == pytest.approx(exact, rel=0.3 * half_angle**2)


# ---- where the maths has no answer


@pytest.mark.parametrize("call, words", [
    (lambda: curve.pivot_radius(30, 61), "bogie wheelbase of 61 mm is longer than a circle of radius 30 mm"),
    (lambda: curve.mid_radius(30, 61), "wheelbase or pivot spacing of 61 mm is longer than a circle"),
    (lambda: curve.inner_throw(np.array([100, 30]), 61), "wheelbase or pivot spacing of 61 mm is longer"),
    (lambda: curve.outer_throw(50, 99, 120, 30, 60), "wheelbase or pivot spacing of 99 mm is longer"),
    (lambda: curve.outline_throw(box(9, 9), 30, 61), "wheelbase or pivot spacing of 61 mm is longer"),
    (lambda: curve.versine(30, 61), "chord of 61 mm is longer than a circle of radius 30 mm"),
    (lambda: curve.attack_angle(61, 30), "wheelbase of 61 mm is longer than a circle of radius 30 mm"),
    (lambda: curve.min_radius_for_attack(50, 0), "attack angle of 0 rad allows no curve"),
    (lambda: curve.radius_of_degree(0), "degree of curve of 0 rad is a straight"),
])
def test_no_answer_is_told(call, words):
    with pytest.raises(ValueError, match=words):
        call()
