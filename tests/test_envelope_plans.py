"""The swept envelope on closed plans and on any plan: seams, mirrors, the way back, and what it costs."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from outlines import CASES, box, stations, steady, worst_on
from tracks import laid, mirrored

from partgen.motion.envelope import envelopes
from partgen.motion.path import Path, TrackPiece, arc, straight
from partgen.motion.vehicle import Vehicle

# ---- closed plans

@pytest.mark.parametrize("start, straight, end", [(100, 200, 100), (15, 40, 25), (9, 70, 61)])
def test_closed_plan_is_seen_across_its_seam(start, straight, end):
    # an oval begun within a straight and one begun at the end of an arc are one track
    oval = [("straight", start), ("left", 320, 180), ("straight", straight), ("right", 320, 20), ("left", 320, 20),
            ("left", 320, 180), ("right", 320, 20), ("left", 320, 20), ("straight", end)]
    begun = [("straight", start + end), *oval[1:-1]]
    one, other = (envelopes(laid(plan, True), Vehicle(60), {0: [box(150, 50)]})[0] for plan in (oval, begun))
    length = other.sweep.path.length
    for side in ("left", "right"):
        assert worst_on(one, side).value == pytest.approx(worst_on(other, side).value, abs=1e-6)
        s = np.linspace(0, length, 333)
        assert one.at(side, s) == pytest.approx(other.at(side, np.mod(s + end, length)), abs=0.02)


def test_circle_is_the_same_everywhere():
    envelope = envelopes(Path([arc(320, 45, "left")] * 8, closed=True), Vehicle(60), {0: [box(150, 50)]})[0]
    inner, outer = steady(box(150, 50), 320, 60)
    at = stations(envelope)
    assert envelope.at("left", at) == pytest.approx(np.full(len(at), inner), abs=0.02)
    assert envelope.at("right", at) == pytest.approx(np.full(len(at), outer), abs=1e-6)


def test_straight_is_the_outline_itself():
    envelope = envelopes(Path([straight(50)]), Vehicle(60), {0: [box(150, 50, left=3)]})[0]
    assert (worst_on(envelope, "left").value, worst_on(envelope, "right").value) == pytest.approx((28, 22))
    assert envelope.worst_inner.value == envelope.worst_outer.value == pytest.approx(28)
    assert 0 <= worst_on(envelope, "left").station <= 50


def test_plan_shorter_than_the_wagon_is_passed_by_all_of_it():
    # the body lies behind its front axle, which has left the plan before the body comes to it
    envelope = envelopes(laid([("straight", 10)]), Vehicle(101), {0: [CASES["lopsided"][2]]})[0]
    assert (worst_on(envelope, "left").value, worst_on(envelope, "right").value) == pytest.approx((31, 24), abs=1e-9)


# ---- what must hold of any plan

pieces = st.one_of(
    st.tuples(st.just("straight"), st.floats(10, 250)),
    st.tuples(st.sampled_from(["left", "right"]), st.floats(200, 900), st.floats(5, 100)))
plans = st.lists(pieces, min_size=1, max_size=6)
vehicles = st.builds(Vehicle, st.floats(70, 160), st.sampled_from([0, 0, 25, 50]))


@settings(deadline=None, max_examples=30)
@given(plans, vehicles)
def test_mirrored_plan_swaps_left_and_right(plan, vehicle):
    outline = CASES["lopsided"][2]
    one = envelopes(laid(plan), vehicle, {0: [outline]})[0]
    other = envelopes(laid(mirrored(plan)), vehicle, {0: [outline * [1, -1]]})[0]
    assert worst_on(one, "left").value == pytest.approx(worst_on(other, "right").value, abs=1e-4)
    assert worst_on(one, "right").value == pytest.approx(worst_on(other, "left").value, abs=1e-4)
    assert one.worst_inner.value == pytest.approx(other.worst_inner.value, abs=1e-4)
    assert one.at("left", stations(one)) == pytest.approx(other.at("right", stations(one)), abs=1e-6)


@settings(deadline=None, max_examples=30)
@given(plans, vehicles)
def test_plan_run_backwards_swaps_them_too(plan, vehicle):
    # a wagon alike at both ends: the same stands, met from the other end
    one = envelopes(laid(plan), vehicle, {0: [box(190, 50)]})[0]
    other = envelopes(laid(mirrored(plan[::-1])), vehicle, {0: [box(190, 50)]})[0]
    assert worst_on(one, "left").value == pytest.approx(worst_on(other, "right").value, abs=0.02)
    assert worst_on(one, "right").value == pytest.approx(worst_on(other, "left").value, abs=0.02)


@settings(deadline=None, max_examples=20)
@given(plans, vehicles)
def test_worst_place_is_not_missed(plan, vehicle):
    # a tolerance forty times finer looks at six times as many places
    coarse, fine = (envelopes(laid(plan), vehicle, {0: [box(190, 50)]}, tolerance)[0] for tolerance in (0.005, 0.0005))
    rough = envelopes(laid(plan), vehicle, {0: [box(190, 50)]}, 0.1)[0]
    for name in ("worst_inner", "worst_outer"):
        exact = getattr(fine, name).value
        assert getattr(coarse, name).value == pytest.approx(exact, abs=0.02)
        assert getattr(rough, name).value == pytest.approx(exact, abs=0.05)
    for side in ("left", "right"):
        assert worst_on(rough, side).value == pytest.approx(worst_on(fine, side).value, abs=0.05)
    at = stations(coarse)
    assert coarse.at("left", at) == pytest.approx(fine.at("left", at), abs=0.1)


# ---- cost

def places(path):
    """How many stands of the vehicle are worked out, and how many places of the plan they stand for."""
    rows = envelopes(path, Vehicle(70), {0: [box(140, 60)]})[0].sweep.rows
    return len(rows.lead), len(rows.which)


def test_cost_grows_with_the_length_of_the_plan():
    random = np.random.default_rng(2)
    pieces = [TrackPiece(random.uniform(60, 200), random.choice([-1, 0, 1]) / random.uniform(300, 900))
              for _ in range(800)]
    counts = [places(Path(pieces[:n]))[0] for n in (100, 200, 400, 800)]
    assert [b / a for a, b in pairwise(counts)] == pytest.approx([2, 2, 2], abs=0.25)


def test_what_has_been_seen_is_not_looked_at_again():
    lap = [straight(150)] * 3 + [arc(320, 45, "left")] * 3 + [arc(400, 30, "right")]
    few, many = places(Path(lap * 2)), places(Path(lap * 50))
    assert many[0] <= few[0] + 10 and many[1] > 20 * few[1]


def test_long_straights_and_arcs_cost_nothing():
    short, long = (places(Path([straight(n), arc(320, 80, "left"), straight(n)])) for n in (500, 5000))
    assert short == long
