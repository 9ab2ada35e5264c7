"""Wheel formulas against published figures and a brute-force search for the wheelbase limit.

Marks of the figures: SEEN, read in the source; SEEN-2, read on a secondary page;
MEM, from memory; CALC, worked out, a regression value and no outside authority.
"""

import math
import timeit

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from partgen.formulas import wheel

UPRIGHT = math.pi / 2
TOY = {"gauge": 37.5, "radius": 320, "flange_thickness": 3.1, "tread_radius": 8.5, "flange_depth": 1.7,
       "flange_angle": UPRIGHT}


def toy(play):
    """A toy track of 37.5 mm, its wheels set for a play."""
    return TOY | {"back_to_back": 37.5 - 2 * 3.1 - play}


# ---- wheel and track standards

@pytest.mark.parametrize("gauge, b_min, b_max, t_min, t_max", [
    # SEEN: NEM 310 (2009) wheelsets; the last SEEN-2 on a club page, NEM 310 (1977), B max by K max 41.8 = B + T
    (6.5, 5.25, 5.5, 0.4, 0.45), (9, 7.4, 7.6, 0.5, 0.6), (12, 10.2, 10.4, 0.6, 0.7), (16.5, 14.4, 14.6, 0.7, 0.9),
    (45, 39.8, 40.1, 1.5, 1.7)])
def test_wheels_of_nem_310_play_between_their_rails(gauge, b_min, b_max, t_min, t_max):
    for back_to_back, thickness in ((b_max, t_min), (b_min, t_max)):
        assert 0 < wheel.play(gauge, back_to_back, thickness) < gauge / 10
    assert wheel.play(gauge, b_min, t_min) - wheel.play(gauge, b_max, t_max) == pytest.approx(
        b_max - b_min + 2 * (t_max - t_min))


RP_25 = {  # SEEN: NMRA RP-25, code: width N', flange T, tread W, depth D', all [in]
    175: (.175, .048, .127, .045), 126: (.126, .036, .090, .028), 110: (.110, .030, .080, .025),
    88: (.088, .025, .063, .023), 72: (.072, .020, .052, .020), 54: (.054, .014, .040, .016)}


@pytest.mark.parametrize("code", RP_25)
def test_the_flange_ends_where_its_taper_and_its_tip_meet(code):
    # the plane of the rail tops touches the wheel at the tread and leaves nothing of the flange at its edge
    _, flange, _, depth = RP_25[code]
    assert wheel.flange_profile(0, 0.2, flange, math.radians(70)) == flange
    assert wheel.flange_profile(wheel.flange_lap(0.2, depth), 0.2, flange, math.atan(depth / flange)
                                ) == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize("k_max, b_min, n_min, track_g", [
    # SEEN: NMRA S-4.2 wheels (older revision) and S-3.2 track (older revision), all [in]
    (.605, .566, .108, (.649, .672)), (.839, .800, .108, (.883, .905)), (1.179, 1.118, .172, (1.250, 1.285))])
def test_nmra_wheels_stand_in_nmra_track(k_max, b_min, n_min, track_g):
    _, flange, _, _ = min(row for row in RP_25.values() if row[0] >= n_min)  # narrowest contour allowed
    widest = k_max - flange
    for gauge in track_g:
        assert wheel.play(gauge, b_min, flange) > wheel.play(gauge, widest, flange) > 0


def test_lap_of_a_full_size_wheel():
    # CALC from the formula of three calculator pages, SEEN-2: wheel of 1524 mm, flange of 32 mm: chord of 446.28 mm
    assert 2 * wheel.flange_lap(762, 32) == pytest.approx(446.28, abs=0.01)


@settings(deadline=None)
@given(st.floats(2, 1000), st.floats(0.01, 0.5))
def test_lap_is_where_the_tip_circle_meets_the_rail_top(tread_radius, share):
    lap = wheel.flange_lap(tread_radius, share * tread_radius)
    assert math.hypot(lap, tread_radius) == pytest.approx((1 + share) * tread_radius)


# ---- on curves

@pytest.mark.parametrize("multiple, wheelbase", [(50, 5.0), (57, 8.0), (71, 10.0)])
def test_smallest_radii_of_nem_111_keep_its_attack_angle(multiple, wheelbase):
    # SEEN: NEM 111 (2016) page 1, at most 12 degrees; page 2, classes A1 to A3: radius in gauges, wheelbase [m];
    # NEM 010: 1:87, 16.5 mm
    assert wheel.attack_angle(wheelbase * 1000 / 87, multiple * 16.5) < math.radians(12)


@pytest.mark.parametrize("wheelbase, radius, angle", [(50, 120.24, 12), (60, 60, 30), (37, 400, 2.6507)])
def test_attack_angle(wheelbase, radius, angle):
    # CALC: half the chord over the radius is the sine
    assert math.degrees(wheel.attack_angle(wheelbase, radius)) == pytest.approx(angle, abs=1e-3)


def test_a_pivot_runs_midway_on_its_bogies_chord():
    # triangles of whole numbers: 50, 30, 40 and 13, 5, 12
    assert wheel.pivot_radius(np.array([50, 13]), np.array([60, 10])) == pytest.approx([40, 12])


@pytest.mark.parametrize("call, words", [
    (lambda: wheel.pivot_radius(30, 61), "bogie wheelbase of 61 mm is longer than a circle of radius 30 mm is wide"),
    (lambda: wheel.attack_angle(61, 30), "wheelbase of 61 mm is longer than a circle of radius 30 mm is wide"),
])
def test_no_place_on_a_curve_is_told(call, words):
    with pytest.raises(ValueError, match=words):
        call()
    wheel.pivot_radius(30, 60), wheel.attack_angle(60, 30)      # as long as it is wide: one place is left


# ---- the exact limit

@pytest.mark.parametrize("play, listed, exact", [(0.6, 37.6, 37.949), (1.0, 68.7, 68.946)])
def test_worked_limits(play, listed, exact):
    # CALC, "dense search": the listed figures stop where the play left falls under the search's own step,
    # 5 micrometres; with the step made small they become the exact ones, as the brute force below shows
    assert 0 < wheel.residual_play(listed, **toy(play)) < 0.005
    assert wheel.wheelbase_limit(**toy(play)) == pytest.approx(exact, abs=0.001)
    assert exact == pytest.approx(listed, abs=0.4)
    assert searched_limit(**toy(play)) == pytest.approx(exact, abs=0.02)


def worst_gap(wheelbase, c, gauge, radius, back_to_back, flange_thickness, tread_radius, flange_depth,
              flange_angle):
    """Least distance of any flange point of both axles from its rail, for each c; negative inside a rail."""
    tip = tread_radius + flange_depth
    ahead = np.sqrt(tip**2 - tread_radius**2) * np.linspace(-1, 1, 301)
    thickness = flange_thickness - (np.sqrt(ahead**2 + tread_radius**2) - tread_radius) / np.tan(flange_angle)
    face = back_to_back / 2 + np.tile(thickness, 2)
    u = np.concatenate([ahead - wheelbase / 2, ahead + wheelbase / 2])
    to_outer = radius + gauge / 2 - np.sqrt((c[:, None] + face) ** 2 + u**2)
    to_inner = np.sqrt((c[:, None] - face) ** 2 + u**2) - (radius - gauge / 2)
    return np.minimum(to_outer, to_inner).min(axis=1)


def brute_fits(wheelbase, **track):
    """Whether some c fits: c scanned across the track, four times finer round the best each time."""
    radius, slack = track["radius"], 0.2 * track["gauge"]
    low, high = radius - slack - wheelbase**2 / (4 * radius), radius + slack
    for _ in range(5):
        c = np.linspace(low, high, 41)
        gap = worst_gap(wheelbase, c, **track)
        if gap.max() >= 0:
            return True
        best = gap.argmax()
        low, high = c[max(best - 1, 0)], c[min(best + 1, 40)]
    return False


def searched_limit(**track):
    """The shortest wheelbase that no c fits, stepped and then halved to 0.01 mm."""
    end = 0.8 * track["radius"]  # an attack angle of 24 degrees
    step = end / 60
    low = 0.0
    if not brute_fits(low, **track):
        return 0.0
    while brute_fits(low + step, **track):
        low += step
        if low > end:
            return math.inf
    high = low + step
    while high - low > 0.01:
        middle = (low + high) / 2
        low, high = (middle, high) if brute_fits(middle, **track) else (low, middle)
    return low


SCALES = [  # gauge, flange thickness, tread radius, flange depth [mm], like the toy's and the standards'
    (16.5, 0.8, 5.2, 0.7), (32, 1.2, 10.5, 1.2), (37.5, 3.1, 8.5, 1.7), (45, 1.6, 14.5, 1.6)]


@pytest.mark.parametrize("gauge, thickness, tread, depth", SCALES)
@pytest.mark.parametrize("radii", [4, 8.5, 30])
@pytest.mark.parametrize("play, angle", [(0.012, 90), (0.024, 90), (0.02, 80), (0.015, 70)])
def test_limit_against_brute_force(gauge, thickness, tread, depth, radii, play, angle):
    track = {"gauge": gauge, "radius": gauge * radii, "flange_thickness": thickness, "tread_radius": tread,
             "back_to_back": gauge * (1 - play) - 2 * thickness, "flange_depth": depth,
             "flange_angle": math.radians(angle)}
    limit, searched = wheel.wheelbase_limit(**track), searched_limit(**track)
    if searched == math.inf:
        assert limit > 0.8 * gauge * radii
    else:
        assert limit == pytest.approx(searched, abs=0.1)


def any_track(gauge, radii, tread, depth, edge, play, angle):
    """A track and wheels from shares of the gauge, the flange's tip at least an edge thick."""
    tread_radius, flange_angle = gauge * tread, math.radians(angle)
    thickness = edge + depth * tread_radius / math.tan(flange_angle)
    return {"gauge": gauge, "radius": gauge * radii, "back_to_back": gauge * (1 - play) - 2 * thickness,
            "flange_thickness": thickness, "tread_radius": tread_radius, "flange_depth": depth * tread_radius,
            "flange_angle": flange_angle}


tracks = st.builds(any_track, st.floats(9, 90), st.floats(3, 60), st.floats(0.15, 0.4), st.floats(0.05, 0.25),
                   st.floats(0.2, 2), st.floats(-0.002, 0.06), st.floats(45, 90))


def longest_beside_rails(track):
    lap = math.sqrt((track["tread_radius"] + track["flange_depth"]) ** 2 - track["tread_radius"] ** 2)
    return (1 - 1e-12) * 2 * (track["radius"] - track["gauge"] / 2 - lap)


@settings(deadline=None)
@given(tracks)
def test_limit_is_the_first_wheelbase_without_play(track):
    limit, longest = wheel.wheelbase_limit(**track), longest_beside_rails(track)
    assert 0 <= limit <= longest * (1 + 1e-9)
    shorter = wheel.residual_play(np.linspace(0, limit, 50), **track)
    if limit == 0:
        assert shorter[0] < 1e-9
    else:
        assert shorter.min() > -1e-6
    if 0 < limit < longest * (1 - 1e-9):
        assert shorter[-1] == pytest.approx(0, abs=1e-6)
        assert wheel.residual_play(min(limit * 1.001 + 0.01, longest), **track) < 1e-6


@settings(deadline=None)
@given(tracks)
def test_play_left_has_one_dip(track):
    # what wheelbase_limit rests on: over W the play left may rise at first, then falls, then rises for good
    left = wheel.residual_play(np.linspace(0, longest_beside_rails(track), 600), **track)
    step = np.diff(left)
    turns = np.sign(step[np.abs(step) > 1e-9 * track["radius"]])
    dips = np.count_nonzero((turns[:-1] < 0) & (turns[1:] > 0))
    assert dips <= 1 and (dips == 0 or turns[-1] > 0)


@settings(deadline=None)
@given(tracks, st.floats(0, 1))
def test_play_left_against_brute_force(track, share):
    wheelbase = share * 2 * track["radius"] * math.sin(math.radians(12))
    assume(wheelbase < longest_beside_rails(track))
    left = wheel.residual_play(wheelbase, **track)
    if abs(left) < 1e-3:
        return
    assert brute_fits(wheelbase, **track) == (left > 0)


@settings(deadline=None)
@given(tracks, st.floats(0, 1))
def test_play_left_against_dense_samples(track, share):
    # bounds on c from 20,001 points of each flange of both axles: what makes the limit good to 0.01 mm
    radius, half_gauge = track["radius"], track["gauge"] / 2
    wheelbase = min(share * 2 * radius * math.sin(math.radians(12)), longest_beside_rails(track))
    tip = track["tread_radius"] + track["flange_depth"]
    ahead = math.sqrt(tip**2 - track["tread_radius"] ** 2) * np.linspace(-1, 1, 20001)
    below = np.sqrt(ahead**2 + track["tread_radius"] ** 2) - track["tread_radius"]
    face = track["back_to_back"] / 2 + track["flange_thickness"] - below / math.tan(track["flange_angle"])
    square = np.array([ahead - wheelbase / 2, ahead + wheelbase / 2]) ** 2
    highest = (np.sqrt((radius + half_gauge) ** 2 - square) - face).min()
    lowest = (np.sqrt(np.maximum((radius - half_gauge) ** 2 - square, 0)) + face).max()
    assert wheel.residual_play(wheelbase, **track) == pytest.approx(highest - lowest, abs=2e-6)


def test_single_axle_on_a_wide_curve_has_the_play_of_the_straight():
    assert wheel.residual_play(0, **toy(1.0) | {"radius": 1e6}) == pytest.approx(
        wheel.play(37.5, toy(1.0)["back_to_back"], 3.1), abs=1e-4)


@settings(deadline=None)
@given(st.floats(0.05, 0.95), st.floats(8, 60), st.floats(0.3, 2.5))
def test_exact_limit_tends_to_the_handbook_while_wheelbase_is_under_the_lap(share, gauge, depth):
    # the handbook wagon touches the inner rail at its middle: true up to a wheelbase of one chord, 2 laps. It asks
    # for the versine of wheelbase and chord, (B + L)^2/8R; railway textbooks round 100/8 to 13 (MEM), and calculator
    # pages that print the square on L alone (SEEN-2) are wrong.
    lap = wheel.flange_lap(gauge / 4, depth)
    for radius in (1e3 * gauge, 1e4 * gauge):
        play = ((share + 1) * 2 * lap)**2 / (8 * radius)
        exact = wheel.wheelbase_limit(gauge, radius, gauge - 2 - play, 1, gauge / 4, depth, UPRIGHT)
        assert exact == pytest.approx(share * 2 * lap, abs=20 * gauge**2 / radius)


@settings(deadline=None)
@given(st.floats(1.1, 30), st.floats(8, 60), st.floats(0.3, 2.5))
def test_exact_limit_tends_to_s_r_over_lap_beyond(laps, gauge, depth):
    # two flanges, each half a chord off its axle: s = W lap/R, more wheelbase than the handbook's sqrt(8Rs) - 2 lap
    lap = wheel.flange_lap(gauge / 4, depth)
    radius = 1e4 * gauge
    play = laps * 2 * lap * lap / radius
    exact = wheel.wheelbase_limit(gauge, radius, gauge - 2 - play, 1, gauge / 4, depth, UPRIGHT)
    assert exact == pytest.approx(play * radius / lap, rel=0.01)
    assert exact > math.sqrt(8 * radius * play) - 2 * lap


@pytest.mark.parametrize("play", [0.4, 0.6, 0.8, 1.0])
def test_limit_is_close_to_the_closed_form(play):
    # CALC: second order in the play, here within 1.5 %
    lap = wheel.flange_lap(8.5, 1.7)
    closed = 320 * 4 * (lap - math.sqrt(lap**2 - play * 37.5 / 2)) / 37.5
    assert wheel.wheelbase_limit(**toy(play)) == pytest.approx(closed, rel=0.015)


def test_limit_grows_with_play_radius_and_taper():
    limits = [wheel.wheelbase_limit(**toy(play)) for play in (-0.1, 0.0, 0.3, 0.6, 1.0, 1.4)]
    assert limits[:2] == [0, 0] and sorted(limits) == limits
    base = toy(0.6)
    for better in ({"radius": 400}, {"flange_angle": math.radians(75)}, {"flange_depth": 1.2}):
        assert wheel.wheelbase_limit(**base | better) > wheel.wheelbase_limit(**base)


def test_flanges_that_never_bind_leave_the_longest_beside_rails():
    # once s G/2 > lap^2 only the rails' own extent ends it
    assert wheel.wheelbase_limit(**toy(3.0)) == pytest.approx(longest_beside_rails(toy(3.0)))
    assert wheel.residual_play(longest_beside_rails(toy(3.0)), **toy(3.0)) > 0


def test_wheelbase_without_rails_beside_it():
    with pytest.raises(ValueError, match="wheelbase of 600 mm is over 591.223 mm: its flanges pass"):
        wheel.residual_play(np.array([50, 600]), **toy(1.0))
    assert wheel.wheelbase_limit(**toy(1.0) | {"radius": 20}) == 0


def test_arrays_give_what_floats_give():
    wheelbases = np.array([[0.0, 20.0, 50.0], [70.0, 90.0, 120.0]])
    one_by_one = [[wheel.residual_play(w, **toy(1.0)) for w in row] for row in wheelbases]
    assert wheel.residual_play(wheelbases, **toy(1.0)) == pytest.approx(np.array(one_by_one), abs=1e-12)
    assert isinstance(one_by_one[0][0], float)
    assert wheel.play(np.array([37.5, 45]), 30.3, 3.1) == pytest.approx([1.0, 8.5])


def test_limit_is_quick():
    # a check runs it for every wagon and a tuner for every trial: 5 ms at most, best of ten
    assert min(timeit.repeat(lambda: wheel.wheelbase_limit(**toy(1.0)), number=1, repeat=10)) < 0.005
