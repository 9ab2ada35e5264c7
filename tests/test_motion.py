"""Vehicles on a track against an independent sweep: own track sampler, scipy's root finder, shapely's geometry."""

import cmath
import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq
from shapely import LineString, Polygon, affinity
from shapely.geometry import box

from partgen.formulas.curve import outline_throw
from partgen.motion.coupled import Link, couple, pair
from partgen.motion.envelope import envelopes
from partgen.motion.path import Path, arc, straight
from partgen.motion.vehicle import Vehicle, bogie_angles, stand

ENTRY = [("s", 260), ("l", 320, 90), ("s", 260)]
REVERSE = [("s", 260), ("l", 320, 70), ("r", 250, 80), ("s", 260)]
LOOSE = [("s", 300), ("r", 400, 60), ("s", 40), ("l", 330, 50), ("s", 300)]
PLANS = {"entry": ENTRY, "reverse": REVERSE, "loose": LOOSE}


def laid(plan):
    return Path(tuple(straight(p[1]) if p[0] == "s" else arc(p[1], p[2], {"l": "left", "r": "right"}[p[0]])
                      for p in plan))


def reference_point(plan, s):
    """Walk the plan piece by piece: the test's own track, in complex numbers."""
    z, way = 0j, 1 + 0j
    if s < 0:
        return z + s * way
    for piece in plan:
        length = piece[1] if piece[0] == "s" else piece[1] * math.radians(piece[2])
        u = min(s, length)
        if piece[0] == "s":
            z += u * way
        else:
            turn = 1j if piece[0] == "l" else -1j
            centre = z + piece[1] * turn * way
            z = centre + (z - centre) * cmath.exp(turn * u / piece[1])
            way *= cmath.exp(turn * u / piece[1])
        s -= u
        if s <= 0:
            return z
    return z + s * way


def carried(path, base, bogie, outline):
    """Return the envelope of one outline."""
    return envelopes(path, Vehicle(base, bogie), {0: [outline]})[0]


def reference_stand(plan, base, bogie, front):
    """Both guided points by brentq: axles on the track, pivots midway between a bogie's axles."""
    def behind(s, distance):
        if not distance:
            return s
        here = reference_point(plan, s)
        return brentq(lambda t: abs(reference_point(plan, t) - here) - distance, s - 1.5 * distance - 1, s - 0.5 * distance,
                      xtol=1e-11)

    def pivot(s):
        return (reference_point(plan, s) + reference_point(plan, behind(s, bogie))) / 2

    lead = pivot(front)
    rear = brentq(lambda t: abs(pivot(t) - lead) - base, front - 1.5 * base - 1, front - 0.5 * base, xtol=1e-11)
    trail = pivot(rear)
    return (lead + trail) / 2, (lead - trail) / abs(lead - trail)


def posed(shape, middle, way):
    turned = affinity.rotate(shape, math.degrees(cmath.phase(way)), origin=(0, 0))
    return affinity.translate(turned, middle.real, middle.imag)


def reference_reach(plan, base, bogie, shape):
    """Return the farthest reach to the left and to the right: shapely's distance of a densified outline."""
    total = sum(p[1] if p[0] == "s" else p[1] * math.radians(p[2]) for p in plan)
    line = LineString([(z.real, z.imag) for z in (reference_point(plan, s) for s in np.arange(-300, total + 300, 2.0))])
    area = {1: 0.0, -1: 0.0}
    for front in np.arange(0, total + base, 6.0):
        outline = posed(shape, *reference_stand(plan, base, bogie, front)).segmentize(4.0)
        spots = shapely.points(np.array(outline.exterior.coords))
        s = shapely.line_locate_point(line, spots)
        a, b = (shapely.get_coordinates(shapely.line_interpolate_point(line, at)) for at in (s, s + 0.5))
        at = shapely.get_coordinates(spots)
        left = (b - a)[:, 0] * (at - a)[:, 1] - (b - a)[:, 1] * (at - a)[:, 0] > 0
        away = shapely.distance(line, spots)
        for side, mine in ((1, left), (-1, ~left)):
            area[side] = max(area[side], away[mine].max(initial=0.0))
    return area[1], area[-1]


SHAPES = {"long": box(-70, -25, 70, 25), "short": box(-45, -28, 45, 28), "odd": Polygon([(-80, -20), (60, -24), (66, 0),
          (60, 24), (-80, 20)])}


@pytest.mark.slow
@pytest.mark.parametrize("plan, base, bogie, shape", [
    ("entry", 70, 0, "long"), ("reverse", 55, 0, "odd"), ("loose", 60, 0, "short"), ("reverse", 95, 28, "long")])
def test_envelope_agrees_with_a_dense_shapely_sweep(plan, base, bogie, shape):
    expected = reference_reach(PLANS[plan], base, bogie, SHAPES[shape])
    outline = np.array(SHAPES[shape].exterior.coords)[:-1]
    found = carried(laid(PLANS[plan]), base, bogie, outline)
    assert (found.worst_left.value, found.worst_right.value) == pytest.approx(expected, abs=0.05)


@pytest.mark.parametrize("bogie", [0, 28])
@pytest.mark.parametrize("plan", PLANS)
def test_stands_agree_with_a_root_finder(plan, bogie):
    """A bogie's leading station is that of its middle, so the reference starts half a bogie ahead of it."""
    leads = np.arange(45.0, 1000.0, 37.0)
    path = laid(PLANS[plan])
    found = stand(path, Vehicle(80, bogie), leads)
    for k, lead in enumerate(leads):
        def off(front, lead=lead):
            here = reference_point(PLANS[plan], front)
            back = brentq(lambda t: abs(reference_point(PLANS[plan], t) - here) - bogie, front - 2 * bogie - 1,
                          front - 0.5 * bogie, xtol=1e-11) if bogie else front
            return (front + back) / 2 - lead
        front = brentq(off, lead - 1, lead + bogie + 1, xtol=1e-11)
        middle, way = reference_stand(PLANS[plan], 80, bogie, front)
        assert abs(found.origin[k] - middle) < 1e-6 and abs(found.ahead[k] - way) < 1e-7


@given(radius=st.floats(200, 3000), base=st.floats(30, 120), length=st.floats(1.1, 2.5), width=st.floats(20, 80),
       bogie=st.sampled_from([0.0, 24.0]))
@settings(deadline=None, max_examples=40)
def test_on_a_long_arc_it_is_the_steady_state_of_the_handbook(radius, base, length, width, bogie):
    """reference.md section 1.1, exact forms (CALC), through `outline_throw`, itself held to shapely elsewhere."""
    half = base * length / 2
    outline = np.array([(half, width / 2), (-half, width / 2), (-half, -width / 2), (half, -width / 2)])
    ring = Path((arc(radius, 359.9, "left"),), closed=True)
    found = carried(ring, base, bogie, outline)
    inner, outer = outline_throw(outline, radius, base, bogie)
    assert found.worst_outer.value == pytest.approx(outer, abs=1e-5)
    assert found.worst_inner.value == pytest.approx(inner, abs=1e-5)


def test_entry_overshoot_is_found():
    """A long overhang swings out over the straight before its wheels reach the curve: more than in the curve."""
    outline = np.array([(90.0, 20), (-20, 20), (-20, -20), (90, -20)])
    path = laid(REVERSE)
    steady = max(outline_throw(outline, 320, 40)[0], outline_throw(outline, 250, 40)[0])
    assert carried(path, 40, 0, outline).worst_inner.value > steady + 0.5


def test_reversing_the_plan_swaps_left_and_right():
    mirrored = [(p[0] if p[0] == "s" else "lr"[p[0] == "l"], *p[1:]) for p in REVERSE]
    outline = np.array(SHAPES["odd"].exterior.coords)[:-1]
    one, other = carried(laid(REVERSE), 60, 0, outline), carried(laid(mirrored), 60, 0, outline)
    assert one.worst_left.value == pytest.approx(other.worst_right.value, abs=1e-6)


def test_bogies_turn_by_the_chord_angle_on_an_arc():
    """asin(a/2/Rp) with Rp the radius the pivots run on: plane geometry of the circle."""
    path = Path((arc(300, 350, "left"),))
    front, rear = bogie_angles(path, Vehicle(120, 30), np.array([900.0]))
    expected = math.asin(60 / math.sqrt(300**2 - 15**2))
    assert front[0] == pytest.approx(expected, abs=1e-8) and rear[0] == pytest.approx(-expected, abs=1e-8)


LINK = Link(Vehicle(70), Vehicle(60), 58, 52, 22, 22)
BODIES = {0: ([np.array([(66, 24), (-66, 24), (-66, -24), (66, -24)])],
              [np.array([(58, 28), (-58, 28), (-58, -28), (58, -28)])])}


def reference_pair(plan, front):
    """Return both stands, the drawbar's direction and the bodies' distance: brentq and shapely."""
    middle, way = reference_stand(plan, 70, 0, front)
    hook = middle - 58 * way

    def miss(s):
        there, heading = reference_stand(plan, 60, 0, s)
        return abs(hook - there - 52 * heading) - 44
    trail = brentq(miss, front - 260, front - 120, xtol=1e-10)
    there, heading = reference_stand(plan, 60, 0, trail)
    gap = posed(box(-66, -24, 66, 24), middle, way).distance(posed(box(-58, -28, 58, 28), there, heading))
    return way, heading, (hook - there - 52 * heading) / 44, gap


@pytest.mark.parametrize("plan", PLANS)
def test_coupled_pair_agrees_with_a_root_finder_and_shapely(plan):
    path = laid(PLANS[plan])
    fronts = np.arange(240.0, 1150.0, 24.0)
    angles, gaps = [], []
    for front in fronts:
        way, heading, bar, gap = reference_pair(PLANS[plan], front)
        stood = pair(path, LINK, np.array(front))
        assert abs(complex(stood.front.ahead) - way) < 1e-7 and abs(complex(stood.rear.ahead) - heading) < 1e-6
        assert abs(complex(stood.ahead) - bar) < 1e-6
        angles.append(max(abs(cmath.phase(bar / way)), abs(cmath.phase(bar / heading))))
        gaps.append(gap)
    found = couple(path, LINK, BODIES)
    worst = max(abs(found.worst_front_swing.value), abs(found.worst_rear_swing.value))
    assert max(angles) - 1e-6 <= worst <= max(angles) + math.radians(0.6)       # ours is between their stands
    assert min(gaps) - 0.4 <= found.least_gap[0].value <= min(gaps) + 1e-6


@pytest.mark.parametrize("plan", PLANS)
def test_worst_places_are_real(plan):
    """At the very stand that is named, brentq and shapely find the same angle and gap."""
    found = couple(laid(PLANS[plan]), LINK, BODIES)
    way, _, bar, _ = reference_pair(PLANS[plan], found.worst_front_swing.lead)
    assert abs(cmath.phase(bar / way)) == pytest.approx(abs(found.worst_front_swing.value), abs=1e-6)
    *_, gap = reference_pair(PLANS[plan], found.least_gap[0].lead)
    assert gap == pytest.approx(found.least_gap[0].value, abs=1e-5)


def test_overlapping_bodies_have_a_negative_gap():
    block = np.array([(45, 20), (-45, 20), (-45, -20), (45, -20)])
    found = couple(Path((straight(500),)), Link(Vehicle(40), Vehicle(40), 30, 30, 10, 10), {0: ([block], [block])})
    assert found.least_gap[0].value == pytest.approx(-10.0, abs=1e-6)


def test_closing_error_is_what_is_missing():
    square = Path(tuple(p for _ in range(4) for p in (straight(300), arc(320, 90, "left"))), closed=True)
    assert square.closing_error() == pytest.approx((0, 0), abs=1e-6)
    short = Path((*square.pieces[:-2], straight(290), square.pieces[-1]), closed=True)
    assert short.closing_error()[0] == pytest.approx(10, abs=1e-6)
