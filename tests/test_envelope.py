"""The swept envelope against a dense sweep of its own: root finder for the stands, shapely for the distances."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from outlines import CASES, ENTRY, PLANS, REVERSE, box, rounded, stations, steady, worst_on
from tracks import Track, laid, sweep

from partgen.motion.convex import corners_of, outermost
from partgen.motion.envelope import envelopes
from partgen.motion.path import Path, arc, straight
from partgen.motion.vehicle import Vehicle


@pytest.fixture(scope="module", params=[(plan, case) for plan in PLANS for case in CASES], ids="-".join)
def judged(request):
    """The envelope of one vehicle on one plan, and where a dense sweep sees the points of its outline pass."""
    plan, case = request.param
    base, bogie, outline = CASES[case]
    track = Track(PLANS[plan])
    s, d = sweep(track, base, bogie, outline, np.arange(-100, track.length + base + 100, 2.5))
    return envelopes(laid(PLANS[plan]), Vehicle(base, bogie), {"all": [outline]})["all"], s, d


def along(s, d, stations):
    """The farthest of all points to the left at stations, from place to place in straight lines."""
    return np.max([np.interp(stations, s[:, k], d[:, k]) for k in range(s.shape[1])], axis=0)


def test_farthest_reach(judged):
    envelope, s, d = judged
    on = (s >= 0) & (s <= envelope.sweep.path.length)
    assert worst_on(envelope, "left").value == pytest.approx(d[on].max(), abs=0.02)
    assert worst_on(envelope, "right").value == pytest.approx(-d[on].min(), abs=0.02)


def test_farthest_reach_is_where_it_says(judged):
    envelope, s, d = judged
    for worst, way in ((worst_on(envelope, "left"), 1), (worst_on(envelope, "right"), -1)):
        assert along(s, way * d, [worst.station])[0] == pytest.approx(worst.value, abs=0.02)
        assert worst.piece == envelope.sweep.path.piece_at(worst.station)


def test_reach_all_along(judged):
    envelope, s, d = judged
    # between its stations the envelope and the sweep are both straight lines, each 0.05 mm off at most
    at = stations(envelope)
    assert envelope.at("left", at) == pytest.approx(along(s, d, at), abs=0.1)
    assert envelope.at("right", at) == pytest.approx(along(s, -d, at), abs=0.1)


def test_reach_beside_a_stretch(judged):
    envelope, s, d = judged
    for start, stop in ((30, 90), (140, 230), (200, 203), (250, 320), (161, 161.5)):
        for side, way in (("left", 1), ("right", -1)):
            worst = envelope.worst(side, start, stop)
            assert worst.value == pytest.approx(along(s, way * d, np.linspace(start, stop, 90)).max(), abs=0.03)
            assert start - 0.05 <= worst.station <= stop + 0.05


def test_arrays_agree_with_the_worst(judged):
    envelope, _, _ = judged
    for side in ("left", "right"):
        assert envelope.at(side, stations(envelope)).max() == pytest.approx(worst_on(envelope, side).value, abs=0.03)


def test_inner_and_outer_are_the_sides_of_the_curve():
    for hand, inner, outer in (("left", "left", "right"), ("right", "right", "left")):
        path = laid([("straight", 200), (hand, 320, 90), ("straight", 200)])
        envelope = envelopes(path, Vehicle(70), {0: [box(140, 60)]})[0]
        assert envelope.worst_inner.value == pytest.approx(worst_on(envelope, inner).value, abs=0.3)
        assert envelope.worst_outer.value == pytest.approx(worst_on(envelope, outer).value, abs=1e-6)
        farthest = max(worst_on(envelope, side).value for side in ("left", "right"))
        assert max(envelope.worst_inner.value, envelope.worst_outer.value) == pytest.approx(farthest, abs=1e-9)


# ---- what steady state does not show

def test_entry_overshoot_of_bogies():
    # A body that ends close behind its pivots: on the arc both pivots stand p^2/8R inside, at the entry only
    # the front one does and the tail swings out farther. The dense sweep says so too.
    outline, track = box(128, 40), Track(ENTRY)
    worst = worst_on(envelopes(laid(ENTRY), Vehicle(110, 60), {0: [outline]})[0], "right")
    s, d = sweep(track, 110, 60, outline, np.arange(150, 380, 1.0))
    assert worst.value > steady(outline, 320, 110, 60)[1] + 0.15
    assert worst.value == pytest.approx(-d.min(), abs=0.02)
    assert worst.station < 160 + 60 or worst.station > track.length - 160 - 60


def test_reverse_curve_reaches_farther_inwards_than_either_curve():
    # the tail still follows one curve while the front is led the other way
    base, bogie, outline = CASES["short"]
    envelope, track = envelopes(laid(REVERSE), Vehicle(base), {0: [outline]})[0], Track(REVERSE)
    joint = envelope.sweep.path.bounds[2]
    worst = envelope.worst("left", joint - 80, joint)
    s, d = sweep(track, base, bogie, outline, np.arange(joint - 100, joint + 200, 1.5))
    assert worst.value > steady(outline, 260, base)[0] + 0.3
    assert worst.value == pytest.approx(along(s, d, np.linspace(joint - 80, joint, 200)).max(), abs=0.02)
    # inward of one curve is outward of the other: whichever it is counted as, it is not lost
    assert max(envelope.worst_inner.value, envelope.worst_outer.value) >= worst.value - 1e-6


def test_hairpin_holds_more_track_under_the_wagon_than_first_guessed(monkeypatch):
    # a chord of 120 mm on 62 mm has 163 mm of track under it, over a third more than on wide curves
    hairpin, outline = [("straight", 170), ("left", 62, 178), ("straight", 170)], box(50, 12, 40)
    envelope = envelopes(laid(hairpin), Vehicle(120), {0: [outline]})[0]
    monkeypatch.setattr("partgen.motion.sweep.STRETCH", 2.5)
    ample = envelopes(laid(hairpin), Vehicle(120), {0: [outline]})[0]
    s, d = sweep(Track(hairpin), 120, 0, outline, np.arange(120, 640, 2.0))
    at = np.linspace(0, envelope.sweep.path.length, 500)
    for side, way in (("left", 1), ("right", -1)):
        assert envelope.at(side, at) == pytest.approx(ample.at(side, at), abs=0.02)
        # the sweep's points, 2.5 mm apart, pass up to half a millimetre short of the farthest on so tight a curve
        assert envelope.at(side, at[180:320]) == pytest.approx(along(s, way * d, at[180:320]), abs=0.6)
    assert worst_on(envelope, "left").value == pytest.approx(d.max(), abs=0.03)


# ---- what steady state does show

@pytest.mark.parametrize("base, bogie, outline", CASES.values(), ids=CASES)
@pytest.mark.parametrize("radius", [200, 320, 1200])
def test_middle_of_a_long_arc_is_the_exact_form(base, bogie, outline, radius):
    path = Path([straight(300), arc(radius, 170, "left"), straight(300), arc(radius, 170, "right"), straight(300)])
    envelope = envelopes(path, Vehicle(base, bogie), {0: [outline]})[0]
    inner, outer = steady(outline, radius, base, bogie)
    middles = [(path.bounds[k] + path.bounds[k + 1]) / 2 for k in (1, 3)]
    reach = [[envelope.worst(side, at - 10, at + 10).value for side in ("left", "right")] for at in middles]
    # outline_throw takes the worse of left and right curves, for outlines that are not alike on both sides
    assert max(reach[0][0], reach[1][1]) == pytest.approx(inner, abs=1e-6)
    assert max(reach[0][1], reach[1][0]) == pytest.approx(outer, abs=1e-6)


@given(radius=st.floats(200, 3000), base=st.floats(30, 120), length=st.floats(1.1, 2.5), width=st.floats(20, 80),
       bogie=st.sampled_from([0.0, 24.0]))
@settings(max_examples=40)
def test_a_ring_holds_every_wagon_in_its_steady_state(radius, base, length, width, bogie):
    outline = box(base * length, width)
    envelope = envelopes(Path([arc(radius, 359.9, "left")], closed=True), Vehicle(base, bogie), {0: [outline]})[0]
    assert (envelope.worst_inner.value, envelope.worst_outer.value) == pytest.approx(
        steady(outline, radius, base, bogie), abs=1e-5)


@pytest.mark.parametrize("radius", [3e3, 9e3])
@pytest.mark.parametrize("base, length, bogie", [(60, 130, 0), (110, 180, 42), (140, 210, 60)])
def test_throws_of_wide_curves_are_the_handbooks(radius, base, length, bogie):
    # SEEN-2, a railway engineering chapter on extra clearance: a^2/8R inwards in the middle, (L^2 - a^2)/8R outwards
    # at the ends; with bogies p^2/8R more and less, the section forms of the European gauging rules, MEM
    envelope = envelopes(Path([arc(radius, 350, "left")], closed=True), Vehicle(base, bogie), {0: [box(length, 2)]})[0]
    assert envelope.worst_inner.value - 1 == pytest.approx((base**2 + bogie**2) / (8 * radius), rel=2e-3)
    assert envelope.worst_outer.value - 1 == pytest.approx((length**2 - base**2 - bogie**2) / (8 * radius), rel=6e-3)


@pytest.mark.parametrize("radius, inner, outer", [
    # CALC regression of reference.md 1.1: wheelbase 60, length 120, width 60
    (300, 1.5038, 3.9308), (200, 2.2628, 5.5085)])
def test_throws_of_a_plain_wagon(radius, inner, outer):
    envelope = envelopes(Path([arc(radius, 360, "left")], closed=True), Vehicle(60), {0: [box(120, 60)]})[0]
    assert worst_on(envelope, "left").value - 30 == pytest.approx(inner, abs=1e-4)
    assert worst_on(envelope, "right").value - 30 == pytest.approx(outer, abs=1e-4)


@pytest.mark.parametrize("scale, radius, groups", [
    # SEEN: MOROP NEM 103 (2016), extra half width E [mm] of car groups A, B, C by scale and radius
    (87, 600, (4, 6, 9)), (87, 1000, (2, 3, 4)), (45, 1200, (8, 14, 18)), (32, 1600, (11, 18, 24))])
def test_nem_103_widening_is_the_swept_inner_throw_less_a_slack(scale, radius, groups):
    # The slack of the straight profile is that of the same table, found with a^2/8R: SEEN as its spread.
    least, most = {87: (1.0, 2.4), 45: (1.2, 3.1), 32: (3.9, 5.6)}[scale]
    path = Path([straight(2000), arc(radius, 120, "left"), straight(2000)])
    for pivots, length, widening in zip((14000, 17200, 19500), (20000, 24200, 27200), groups, strict=True):
        outline = box(length / scale, 2900 / scale)
        envelope = envelopes(path, Vehicle(pivots / scale), {0: [outline]})[0]
        at = 2000 + radius * np.radians(60)
        throw = envelope.worst("left", at - 50, at + 50).value - 2900 / scale / 2
        # the exact throw exceeds a^2/8R by a 16th of (a/R)^2 of it
        assert least - 0.05 <= throw - widening <= most + 0.05 + throw * (pivots / scale / radius)**2 / 16


# ---- bands, many outlines, what lies within another

def test_bands_are_swept_together_and_kept_apart():
    low, high, cup = box(120, 40), box(90, 70), box(20, 20, 20)
    bands = {"low": [low, cup], (30, 60): [cup, high], "both": [low, high]}
    path, vehicle = laid(REVERSE), Vehicle(60)
    together = envelopes(path, vehicle, bands)
    for key, outlines in bands.items():
        alone = envelopes(path, vehicle, {0: outlines})[0]
        assert worst_on(together[key], "left").value == pytest.approx(worst_on(alone, "left").value, abs=1e-9)
        assert worst_on(together[key], "left").outline == worst_on(alone, "left").outline
        at = stations(alone)
        assert together[key].at("right", at) == pytest.approx(alone.at("right", at), abs=0.02)
    each = [envelopes(path, vehicle, {0: [one]})[0] for one in (low, high)]
    farthest = max(worst_on(one, "right").value for one in each)
    assert worst_on(together["both"], "right").value == pytest.approx(farthest, abs=1e-9)
    at = stations(together["both"])
    assert together["both"].at("left", at) == pytest.approx(np.maximum(*(one.at("left", at) for one in each)), abs=0.02)


def test_outlines_within_others_are_left_out():
    outer, inner, beside = box(100, 50), rounded(90, 50, 3), box(100, 40, 5)
    assert outermost([inner, outer, beside, outer]) == [1, 2]
    assert outermost([box(9, 9)[::-1], box(9, 9)]) == [0]


@pytest.mark.parametrize("outline", [
    [(0, 0), (10, 0), (2, 2), (0, 10)], [(0, 0), (5, 0), (10, 0)], [(0, 0), (0, 0), (1, 1)], [(1, 1)]])
def test_hollow_or_flat_outlines_are_refused(outline):
    with pytest.raises(ValueError, match="an outline is not convex, or encloses no area"):
        envelopes(laid(ENTRY), Vehicle(60), {0: [np.array(outline, dtype=float)]})


def test_corners_come_counter_clockwise_and_once():
    doubled = np.repeat(box(10, 4), 2, axis=0)
    assert sorted(corners_of(doubled[::-1]), key=np.angle) == pytest.approx(
        sorted(corners_of(box(10, 4)), key=np.angle))


def test_outline_at_the_centre_of_a_curve_is_refused():
    with pytest.raises(ValueError, match="almost to the centre of the sharpest curve, 100 mm away"):
        envelopes(Path([arc(100, 90, "left")]), Vehicle(40), {0: [box(60, 190)]})
