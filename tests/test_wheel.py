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

from partgen.formulas import curve, wheel

UPRIGHT = math.pi / 2
TOY = {"gauge": 37.5, "radius": 320, "flange_thickness": 3.1, "tread_radius": 8.5, "flange_depth": 1.7,
       "flange_angle": UPRIGHT}


def toy(play):
    """A toy track of 37.5 mm, its wheels set for a play."""
    return TOY | {"back_to_back": 37.5 - 2 * 3.1 - play}


# ---- wheel and track standards


@pytest.mark.parametrize("gauge, k_min, k_max, b_min, b_max, t_min, t_max", [
    # SEEN: NEM 310 (2009) wheelsets
    (6.5, 5.7, 5.9, 5.25, 5.5, 0.4, 0.45), (9, 7.9, 8.1, 7.4, 7.6, 0.5, 0.6),
    (12, 10.8, 11.0, 10.2, 10.4, 0.6, 0.7), (16.5, 15.1, 15.3, 14.4, 14.6, 0.7, 0.9)])
def test_nem_310(gauge, k_min, k_max, b_min, b_max, t_min, t_max):
    assert wheel.check_gauge(b_max, t_min) == pytest.approx(k_max, abs=1e-3)  # SEEN: K = B + T
    assert k_min - 1e-9 <= wheel.check_gauge(b_min, t_max) <= k_max + 1e-9
    assert wheel.play(gauge, b_max, t_min) > 0 < wheel.play(gauge, b_min, t_max)


@pytest.mark.parametrize("c_min, b_max, t_min", [(5.9, 5.5, 0.4), (8.1, 7.6, 0.5), (11.0, 10.4, 0.6)])
def test_nem_110_track_takes_the_widest_check_gauge(c_min, b_max, t_min):
    # SEEN: NEM 110 (2009) track C min, NEM 310 (2009) wheels
    assert wheel.check_gauge(b_max, t_min) == pytest.approx(c_min, abs=1e-3)


def test_nem_311_1_low_flange():
    # SEEN: NEM 311.1, B 14.3 to 14.5, T 0.7, K 15.0 to 15.2
    assert wheel.check_gauge(np.array([14.3, 14.5]), 0.7) == pytest.approx([15.0, 15.2])


def test_nem_310_of_1977_at_45_mm():
    # SEEN-2, a club page, standard not read: B min 39.8, T 1.5 to 1.7, K max 41.8, superseded in 2009
    assert wheel.check_gauge(39.8, 1.7) <= 41.8
    assert wheel.play(45.0, 39.8, 1.7) > 0


RP_25 = {  # SEEN: NMRA RP-25, code: width N', flange T, tread W, depth D', all [in]
    175: (.175, .048, .127, .045), 126: (.126, .036, .090, .028), 110: (.110, .030, .080, .025),
    88: (.088, .025, .063, .023), 72: (.072, .020, .052, .020), 54: (.054, .014, .040, .016)}


@pytest.mark.parametrize("code", RP_25)
def test_rp_25_tread_and_flange_make_the_wheel(code):
    width, flange, tread, depth = RP_25[code]
    assert tread == pytest.approx(width - flange, abs=1e-9)  # SEEN: holds exactly for all rows
    # the plane of the rail tops touches the wheel at the tread and leaves nothing of the flange at its edge
    assert wheel.flange_profile(0, 0.2, flange, math.radians(70)) == flange
    assert wheel.flange_profile(wheel.flange_lap(0.2, depth), 0.2, flange, math.atan(depth / flange)
                                ) == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize("k_max, b_min, n_min, track_c, track_s_max, track_g", [
    # SEEN: NMRA S-4.2 wheels (older revision) and S-3.2 track (older revision), all [in]
    (.605, .566, .108, .605, .564, (.649, .672)), (.839, .800, .108, .839, .798, (.883, .905)),
    (1.179, 1.118, .172, 1.179, 1.115, (1.250, 1.285))])
def test_nmra_wheels_stand_in_nmra_track(k_max, b_min, n_min, track_c, track_s_max, track_g):
    assert track_c == k_max and b_min > track_s_max  # the two standards agree with each other
    _, flange, _, _ = min(row for row in RP_25.values() if row[0] >= n_min)  # narrowest contour allowed
    assert wheel.check_gauge(b_min, flange) <= k_max
    widest = k_max - flange
    assert wheel.check_gauge(widest, flange) == pytest.approx(track_c)
    for gauge in track_g:
        assert wheel.play(gauge, b_min, flange) > wheel.play(gauge, widest, flange) > 0


# ---- handbook widening


def test_lap_of_a_full_size_wheel():
    # CALC from the formula of three calculator pages, SEEN-2: D 1524 mm, h 32 mm
    assert wheel.flange_chord(1524, 32) == pytest.approx(446.28, abs=0.01)


@settings(deadline=None)
@given(st.floats(2, 1000), st.floats(0.01, 0.5))
def test_lap_is_where_the_tip_circle_meets_the_rail_top(tread_radius, share):
    lap = wheel.flange_lap(tread_radius, share * tread_radius)
    assert math.hypot(lap, tread_radius) == pytest.approx((1 + share) * tread_radius)
    assert wheel.flange_chord(2 * tread_radius, share * tread_radius) == pytest.approx(2 * lap)


@pytest.mark.parametrize("radius, widening", [
    (350e3, 15.43),  # data SEEN-2 (a university's examination paper), answer CALC
    (168e3, 32.16),  # radius SEEN-2 (a teaching page), answer CALC
])
def test_textbook_widening(radius, widening):
    # formula MEM; wheelbase 6 m, wheel 1.524 m, flange 32 mm
    chord = wheel.flange_chord(1524, 32)
    assert wheel.widening_textbook(6000, chord, radius) == pytest.approx(widening, abs=0.005)


def test_versine_widening():
    # CALC
    assert wheel.widening_versine(6000, 446.28, 168e3) == pytest.approx(30.919, abs=1e-3)
    assert curve.versine(168e3, 6446.28) == pytest.approx(30.921, abs=1e-3)


def test_square_belongs_on_the_sum():
    # SEEN-2, and wrong there: calculator pages print (W + L^2) * 125/R and get 2.18 mm; CALC 4.579 mm
    assert wheel.widening_versine(3500, 50, 344e3) == pytest.approx(4.579, abs=1e-3)


@settings(deadline=None)
@given(st.floats(0.2, 5), st.floats(1, 40), st.floats(100, 1e5))
def test_handbook_limit_undoes_the_versine(play, chord, radius):
    limit = wheel.handbook_wheelbase_limit(play, chord, radius)
    if limit > 0:
        assert wheel.widening_versine(limit, chord, radius) == pytest.approx(play)
    else:
        assert wheel.widening_versine(0, chord, radius) >= play * (1 - 1e-9)


def test_handbook_limit_without_play_is_nothing():
    assert wheel.handbook_wheelbase_limit(np.array([-0.5, 0.0]), 11, 320) == pytest.approx([0, 0])


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
    # the handbook wagon touches the inner rail at its middle: true up to a wheelbase of one chord, 2 laps
    lap = wheel.flange_lap(gauge / 4, depth)
    for radius in (1e3 * gauge, 1e4 * gauge):
        play = wheel.widening_versine(share * 2 * lap, 2 * lap, radius)
        exact = wheel.wheelbase_limit(gauge, radius, gauge - 2 - play, 1, gauge / 4, depth, UPRIGHT)
        assert wheel.handbook_wheelbase_limit(play, 2 * lap, radius) == pytest.approx(share * 2 * lap)
        assert exact == pytest.approx(share * 2 * lap, abs=20 * gauge**2 / radius)


@settings(deadline=None)
@given(st.floats(1.1, 30), st.floats(8, 60), st.floats(0.3, 2.5))
def test_exact_limit_tends_to_s_r_over_lap_beyond(laps, gauge, depth):
    # two flanges, each half a chord off its axle: s = W lap/R, more wheelbase than the handbook allows
    lap = wheel.flange_lap(gauge / 4, depth)
    radius = 1e4 * gauge
    play = laps * 2 * lap * lap / radius
    exact = wheel.wheelbase_limit(gauge, radius, gauge - 2 - play, 1, gauge / 4, depth, UPRIGHT)
    assert exact == pytest.approx(play * radius / lap, rel=0.01)
    assert exact > wheel.handbook_wheelbase_limit(play, 2 * lap, radius)


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
