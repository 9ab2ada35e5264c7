"""Tipping, axle loads, wheel climb and load states, against cited relations, a simulation and brute force.

Marks of the figures: SEEN, read in the source; SEEN-2, read on a secondary page;
MEM, from memory; CALC, worked out, a regression value and no outside authority.
"""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from partgen.formulas import balance, load

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


def test_static_stability():
    # SSF = t/(2h) SEEN, NHTSA rollover rules chapter V; v = sqrt(SSF R g) SEEN-2, novasolver.jp;
    # CALC: s 16.5, h 30, R 1000 mm: 0.275 and 1.642 m/s
    assert balance.stability_factor(16.5, 30) == pytest.approx(0.275)
    assert balance.tip_speed(16.5, 30, 1000) == pytest.approx(1642, abs=1)


def test_overturning_of_a_published_curve_needs_the_root():
    # SEEN: a teaching page prints 6.54 R = 3924 km/h for R = 600 m and forgot the root: 160.2 km/h. With a
    # standard track's 1.5 m and that page's 6.54 the centre of gravity lies 2.2 m up.
    height = 1.5 * 3.6**2 * 9.80665 / (2 * 6.54**2)
    kmh = balance.tip_speed(1500, 1000 * height, 600000) * 3.6e-3
    assert kmh == pytest.approx(6.54 * math.sqrt(600), rel=1e-6)
    assert kmh == pytest.approx(160.2, abs=0.1)


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
    assert balance.string_line_force(2, 120, 300) == pytest.approx(0.795, abs=5e-4)
    assert math.degrees(120 / 300) == pytest.approx(22.9, abs=0.05)
    ahead, behind = 2 * np.exp(0.2j), -2 * np.exp(-0.2j)  # both couplers' pulls as vectors
    assert balance.string_line_force(2, 120, 300) == pytest.approx(abs(ahead + behind))
    assert balance.string_line_force(2, 120, 1e7) == pytest.approx(2 * 120 / 1e7)


@settings(deadline=None)
@given(st.floats(5, 40), st.floats(5, 80), st.floats(0.05, 0.8), st.floats(0, 0.2))
def test_cup_slides_or_tips(reach, height, friction, tilt):
    # SEEN as the stability factor with the foot for the track: g d/(2h); sliding mu g
    assert balance.cup_tip(reach, height) == pytest.approx(G * balance.stability_factor(2 * reach, height))
    assert balance.cup_slide(friction) == pytest.approx(G * friction)
    for limit in (balance.cup_slide(friction, tilt), balance.cup_tip(reach, height, tilt)):
        along = limit * math.cos(tilt) + G * math.sin(tilt)
        down = G * math.cos(tilt) - limit * math.sin(tilt)
        assert min(abs(along - friction * down), abs(along * height - down * reach)) < 1e-6 * G * height
    assert balance.cup_tip(reach, -height, tilt) == balance.cup_tip(reach, 0, tilt) == np.inf


# ---- tipping and axle loads


@settings(deadline=None)
@given(st.floats(50, 500), st.floats(-5, 5), st.floats(10, 80), st.floats(10, 40), st.floats(1, 9000),
       st.floats(0, 0.3), st.floats(0, 2), st.floats(5, 30))
def test_tip_margin_is_one_where_the_far_wheels_lift(mass, offset, height, reach, acceleration, tilt, pull,
                                                     at):
    # independent: far wheels' load from forces in the room's axes, not the floor's
    up = np.array([-math.sin(-tilt), math.cos(tilt)])
    along = np.array([math.cos(tilt), -math.sin(tilt)])
    place = (offset - reach) * along + height * up
    force = mass * 1e-6 * np.array([acceleration, -G])
    moment = place[0] * force[1] - place[1] * force[0]
    handle = -reach * along + at * up
    moment += handle[0] * (pull * along)[1] - handle[1] * (pull * along)[0]
    margin = balance.tip_margin(mass, offset, height, reach, acceleration, tilt, pull, at)
    assert (margin > 1) == (moment > 0) or abs(margin - 1) < 1e-9
    one = balance.tip_margin(mass, offset, height, reach, acceleration)
    assert one == pytest.approx((reach - offset) * G / (height * acceleration))
    assert balance.tip_margin(mass, offset, height, reach) == np.inf


@settings(deadline=None)
@given(st.floats(100, 1000), st.floats(20, 60), st.floats(10, 60), st.floats(100, 2000))
def test_tipping_on_a_curve_agrees_with_the_stability_factor(mass, spacing, height, radius):
    speed = balance.tip_speed(spacing, height, radius)
    assert balance.tip_margin(mass, 0, height, spacing / 2, speed**2 / radius) == pytest.approx(1)
    third = speed / math.sqrt(3)  # SEEN-2: resultant within the middle third
    assert balance.tip_margin(mass, 0, height, spacing / 2, third**2 / radius) == pytest.approx(3)


@settings(deadline=None)
@given(st.lists(st.tuples(st.floats(1, 300), st.floats(-60, 60)), min_size=1, max_size=6))
def test_axle_loads_balance(parts):
    masses, places = np.array(parts).T
    front, rear = balance.axle_loads(masses, places, 30, -40)
    assert front + rear == pytest.approx(masses.sum() * G * 1e-6)
    assert 30 * front - 40 * rear == pytest.approx((masses * places).sum() * G * 1e-6, abs=1e-9)


def test_joint_tilt():
    assert 38 * math.sin(balance.joint_tilt(0.5, 38)) == pytest.approx(0.5)
    with pytest.raises(ValueError, match="no rail joint"):
        balance.joint_tilt(40, 38)


# ---- load states


def test_states_are_all_there_and_once():
    states = load.load_states(10)
    assert len({tuple(state) for state in states}) == 1024 == len(states)
    assert load.load_states(0).shape == (1, 0)
    assert len(load.load_states(16)) == 65536
    with pytest.raises(ValueError, match="17 seats have too many load states to write out: at most 16"):
        load.load_states(17)


def test_sums_by_hand():
    fixed, loads = [300.0, 10.0], [[100, 5], [50, -20], [25, 0]]
    expected = [[300 + sum(loads[i][k] * full for i, full in enumerate(state[::-1])) if k == 0 else
                 10 + sum(loads[i][k] * full for i, full in enumerate(state[::-1])) for k in range(2)]
                for state in itertools.product((0, 1), repeat=3)]
    assert load.load_sums(fixed, loads).tolist() == expected


seats = st.lists(st.tuples(st.floats(1, 300), st.floats(-40, 40), st.floats(20, 120)), min_size=0, max_size=9)


@settings(deadline=None, max_examples=80)
@given(seats, st.floats(50, 800), st.floats(0, 0.2), st.floats(0, 1))
def test_worst_tip_by_brute_force(loads, acceleration, tilt, pull):
    fixed = [[150, 2, 15], [40, -8, 30]]
    margin, state = balance.worst_tip(fixed, loads, 19, acceleration, tilt, pull, 13)
    rest = (19, acceleration, tilt, pull, 13)

    def margin_of(full):
        parts = np.array(fixed + [seat for seat, there in zip(loads, full) if there])
        return balance.tip_margin(*parts.T, *rest)

    brute = min(margin_of(full) for full in itertools.product((False, True), repeat=len(loads)))
    assert margin == pytest.approx(brute, rel=1e-9)
    assert margin_of(state) == pytest.approx(margin, rel=1e-9)


@settings(deadline=None, max_examples=80)
@given(seats)
def test_worst_axle_share_by_brute_force(loads):
    fixed, loads = [[150, 3], [40, -8]], [seat[:2] for seat in loads]
    share, state = balance.worst_axle_share(fixed, loads, 35, -30)

    def share_of(full):
        parts = np.array(fixed + [seat for seat, there in zip(loads, full) if there])
        both = balance.axle_loads(*parts.T, 35, -30)
        return min(both) / sum(both)

    brute = min(share_of(full) for full in itertools.product((False, True), repeat=len(loads)))
    assert share == pytest.approx(brute, rel=1e-9, abs=1e-12)
    assert share_of(state) == pytest.approx(share, rel=1e-9, abs=1e-12)


def test_sixteen_seats_by_the_whole_table():
    rng = np.random.default_rng(5)
    above, below = rng.normal(0, 5, 16), rng.uniform(0.1, 3, 16)
    sums = load.load_sums([20, 4], np.column_stack([above, below]))
    ratio, state = load.worst_ratio(20, 4, above, below)
    every = sums[:, 0] / sums[:, 1]
    assert ratio == pytest.approx(every.min(), rel=1e-12)
    assert np.array_equal(load.load_states(16)[every.argmin()], state)


@pytest.mark.parametrize("count", [17, 40, 400])
def test_more_seats_than_a_table_holds(count):
    # no change of one seat or two makes it worse, and no random state is: for a ratio of sums the first of
    # these already proves the least (each seat's own sign), the rest is a second look
    rng = np.random.default_rng(count)
    above, below = rng.normal(0, 5, count), rng.uniform(0.1, 3, count)
    ratio, state = load.worst_ratio(20, 4, above, below)
    numerator, denominator = 20 + above[state].sum(), 4 + below[state].sum()
    assert numerator / denominator == pytest.approx(ratio)
    above_flip, below_flip = (np.where(state, -part, part) for part in (above, below))
    assert ((numerator + above_flip) / (denominator + below_flip)).min() >= ratio - 1e-12
    two = ((numerator + np.add.outer(above_flip, above_flip))
           / (denominator + np.add.outer(below_flip, below_flip)))
    assert two[~np.eye(count, dtype=bool)].min() >= ratio - 1e-12
    tries = rng.random((5000, count)) < 0.5
    assert ((20 + tries @ above) / (4 + tries @ below)).min() >= ratio


def test_bad_ratio():
    with pytest.raises(ValueError, match="above 0 in every load state"):
        load.worst_ratio(1, 1, [1, 1], [-0.5, -0.6])
    assert balance.worst_tip([[100, 0, 20]], [[50, 5, 60]], 19) == (np.inf, [False])
