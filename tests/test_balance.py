"""Tipping, axle loads, wheel climb and load states, against cited relations, a simulation and brute force.

Marks of the figures: SEEN, read in the source; SEEN-2, read on a secondary page;
MEM, from memory; CALC, worked out, a regression value and no outside authority.
"""

import itertools
import math

import numpy as np
import pytest
from felt import string_line_force
from hypothesis import given, settings
from hypothesis import strategies as st

from partgen.formulas import balance

G = 9806.65


# ---- cited relations


@pytest.mark.parametrize("degrees, friction, limit", [
    # CALC to 1e-4 from the formula SEEN in JRC2011-56064; the first row is its "up to 1.4", the second the
    # usual textbook 1.13 (MEM), the third APTA SS-M-015-06's least flange angle of 72 degrees (SEEN)
    (68, 0.25, 1.3746), (75, 0.5, 1.1277), (72, 0.5, 1.0153)])
def test_nadal(degrees, friction, limit):
    beta = math.radians(degrees)
    assert balance.nadal_limit(beta, friction) == pytest.approx(limit, abs=1e-4)
    spelt_out = (math.tan(beta) - friction) / (1 + friction * math.tan(beta))
    assert balance.nadal_limit(beta, friction) == pytest.approx(spelt_out)


def test_nadal_against_thresholds_in_use():
    # SEEN: interfacejournal.com 46890: 1.0 for new cars, 0.82 for the high rail in curves; both are on the
    # safe side of a 75 degree flange at a friction of 0.5
    assert 0.82 < 1.0 < balance.nadal_limit(math.radians(75), 0.5)
    assert balance.nadal_limit(math.pi / 2, 0.25) == pytest.approx(4.0)  # an upright flange: 1/mu


def tips(spacing, height, acceleration):
    """How many times over a plain wagon is held against tipping outwards."""
    holding, tipping = balance.tip_moments(210.0, 0.0, height, spacing / 2, acceleration)
    return holding / tipping


def test_static_stability():
    # SSF = t/(2h) SEEN, NHTSA rollover rules chapter V; v = sqrt(SSF R g) SEEN-2, novasolver.jp;
    # CALC: s 16.5, h 30, R 1000 mm: 0.275 and 1.642 m/s; at 1/sqrt(3) of it within the middle third (SEEN-2)
    assert tips(16.5, 30, 0.275 * G) == pytest.approx(1)
    assert tips(16.5, 30, 1642**2 / 1000) == pytest.approx(1, abs=1e-3)
    assert tips(16.5, 30, 1642**2 / 3 / 1000) == pytest.approx(3, abs=3e-3)


def test_overturning_of_a_published_curve_needs_the_root():
    # SEEN: a teaching page prints 6.54 R = 3924 km/h for R = 600 m and forgot the root: 160.2 km/h. With a
    # standard track's 1.5 m and that page's 6.54 the centre of gravity lies 2.2 m up.
    height = 1.5 * 3.6**2 * 9.80665 / (2 * 6.54**2)
    assert tips(1500, 1000 * height, (160.2 / 3.6 * 1000)**2 / 600000) == pytest.approx(1, abs=2e-3)


def test_cant_of_published_tables_balances_the_curve():
    # SEEN-2: E = 11.9 V^2/R: V 80 km/h, R 600 m: 126.93 mm; CALC with 1500 mm between the rails: 125.85 mm.
    # A floor leaning so much towards the inside leaves nothing that tips outwards.
    pressing = (80 / 3.6 * 1000) ** 2 / 600000
    cant = 1500 * pressing / G
    assert cant == pytest.approx(125.85, abs=0.1) == pytest.approx(126.93, rel=0.01)
    tilt = math.atan(pressing / G)
    assert balance.tip_moments(1000, 0, 1500, 750, pressing, -tilt)[1] == pytest.approx(0, abs=1e-9)


def test_string_line():
    # CALC: 2 N, 120 mm, R 300: 0.795 N, by the small angle 0.800 N
    assert string_line_force(2, 120, 300) == pytest.approx(0.795, abs=5e-4)
    assert math.degrees(120 / 300) == pytest.approx(22.9, abs=0.05)
    ahead, behind = 2 * np.exp(0.2j), -2 * np.exp(-0.2j)  # both couplers' pulls as vectors
    assert string_line_force(2, 120, 300) == pytest.approx(abs(ahead + behind))
    assert string_line_force(2, 120, 1e7) == pytest.approx(2 * 120 / 1e7)


@settings(deadline=None)
@given(st.floats(5, 40), st.floats(5, 80), st.floats(0, 0.2))
def test_cup_tips(reach, height, tilt):
    # SEEN as the stability factor with the foot for the track: g d/(2h)
    assert balance.cup_tip(reach, height) == pytest.approx(G * 2 * reach / (2 * height))
    limit = balance.cup_tip(reach, height, tilt)
    along = limit * math.cos(tilt) + G * math.sin(tilt)
    down = G * math.cos(tilt) - limit * math.sin(tilt)
    assert along * height == pytest.approx(down * reach)
    assert balance.cup_tip(reach, -height, tilt) == balance.cup_tip(reach, 0, tilt) == np.inf


@settings(deadline=None)
@given(st.floats(0.01, 1.5), st.floats(0.05, 0.8), st.floats(0, 0.2))
def test_cup_climbs_where_friction_gives_way(lean, friction, tilt):
    # forces in the room's axes: the wall's push N and its friction mu N, down along the wall, hold weight and inertia
    limit = balance.cup_climb(lean, friction, tilt)
    if lean <= math.atan(friction) - tilt:
        assert limit == np.inf
        return
    # the wall leans outwards by alpha from the upright, its foot leans with the floor by t towards the way it climbs
    steep = math.pi / 2 - lean - tilt                           # of the wall's slope over the level
    push, drag = np.array([-math.sin(steep), math.cos(steep)]), np.array([-math.cos(steep), -math.sin(steep)])
    both = push + friction * drag
    if both[1] > 0:
        assert limit == pytest.approx(G * -both[0] / both[1])
    assert balance.cup_climb(math.pi / 2, friction, tilt) == pytest.approx(G * math.tan(math.atan(friction) - tilt))


# ---- tipping


@settings(deadline=None)
@given(st.floats(50, 500), st.floats(-5, 5), st.floats(10, 80), st.floats(10, 40), st.floats(1, 9000),
       st.floats(0, 0.3))
def test_moments_are_those_of_weight_and_inertia_about_the_edge(mass, offset, height, reach, acceleration, tilt):
    # independent: forces in the room's axes, not the floor's
    up = np.array([math.sin(tilt), math.cos(tilt)])
    along = np.array([math.cos(tilt), -math.sin(tilt)])
    place = (offset - reach) * along + height * up
    force = mass * 1e-6 * np.array([acceleration, -G])
    moment = place[0] * force[1] - place[1] * force[0]
    holding, tipping = balance.tip_moments(mass, offset, height, reach, acceleration, tilt)
    assert holding - tipping == pytest.approx(moment, abs=1e-9)


def test_joint_tilt():
    assert 38 * math.sin(balance.joint_tilt(0.5, 38)) == pytest.approx(0.5)
    with pytest.raises(ValueError, match="no rail joint"):
        balance.joint_tilt(40, 38)


# ---- load states


choices = st.lists(st.lists(st.tuples(st.floats(-40, 40), st.floats(0.1, 9)), min_size=3, max_size=3),
                   min_size=0, max_size=6)


@settings(deadline=None, max_examples=80)
@given(choices, st.floats(-20, 60), st.floats(0.5, 5))
def test_worst_choice_by_brute_force(seats, above, below):
    tops, bottoms = (np.array([[pair[side] for pair in seat] for seat in seats]).reshape(-1, 3) for side in (0, 1))

    def ratio_of(chosen):
        rows = np.arange(len(seats))
        return (above + tops[rows, list(chosen)].sum()) / (below + bottoms[rows, list(chosen)].sum())

    ratio, chosen = balance.worst_choice(above, below, tops, bottoms)
    assert ratio == pytest.approx(min(map(ratio_of, itertools.product(range(3), repeat=len(seats)))), rel=1e-9)
    assert ratio_of(chosen) == pytest.approx(ratio, rel=1e-9)


def with_empty(*sides):
    """Choices of a seat that is empty or full."""
    return [np.stack([np.zeros(len(side)), side], axis=1) for side in sides]


@pytest.mark.parametrize("count", [17, 40, 400])
def test_more_seats_than_can_be_counted_through(count):
    # no change of one seat or two makes it worse, and no random state is: for a ratio of sums the first of
    # these already proves the least (each seat's own sign), the rest is a second look
    rng = np.random.default_rng(count)
    above, below = rng.normal(0, 5, count), rng.uniform(0.1, 3, count)
    ratio, state = balance.worst_choice(20, 4, *with_empty(above, below))
    full = state.astype(bool)
    numerator, denominator = 20 + above[full].sum(), 4 + below[full].sum()
    assert numerator / denominator == pytest.approx(ratio)
    above_flip, below_flip = (np.where(full, -part, part) for part in (above, below))
    assert ((numerator + above_flip) / (denominator + below_flip)).min() >= ratio - 1e-12
    two = ((numerator + np.add.outer(above_flip, above_flip))
           / (denominator + np.add.outer(below_flip, below_flip)))
    assert two[~np.eye(count, dtype=bool)].min() >= ratio - 1e-12
    tries = rng.random((5000, count)) < 0.5
    assert ((20 + tries @ above) / (4 + tries @ below)).min() >= ratio


def test_a_ratio_over_nothing_is_refused():
    with pytest.raises(ValueError, match="above 0 in every load state"):
        balance.worst_choice(1, 1, *with_empty([1, 1], [-0.5, -0.6]))
    with pytest.raises(ValueError, match="above 0 in every load state"):
        balance.worst_choice(1, 0, np.empty((0, 2)), np.empty((0, 2)))
