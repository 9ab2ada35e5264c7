"""Stops, curves, markers and run time: against an independent integration, geometry and plain sums.

Marks of the figures: SEEN, read in the source; MEM, from memory; CALC, worked out, a regression value.
"""

import numpy as np
import pytest
from felt import curve_history
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.special import jnp_zeros

from partgen.formulas import response, slosh, stop, traction

ESPRESSO = (27.0, 36.0)  # inner radius and depth of a demo cup [mm]
PERIODS = 2 * np.pi / slosh.omega(*ESPRESSO, np.array([1, 2]))
SHAPED = stop.shaped_stop(400, 1.0, PERIODS[:1], PERIODS[1])


def swung(times, accelerations, after=3.0):
    """Peak during the stop and swing after it of 12 undamped modes: scipy's roots and solver, own sums."""
    radius, depth = ESPRESSO
    xi = jnp_zeros(1, 12)
    square = 9806.65 * xi / radius * np.tanh(xi * depth / radius)
    share = 2 / (xi**2 - 1) * radius / 9806.65

    def motion(t, y):
        return np.concatenate([y[12:], square * (np.interp(t, times, accelerations) - y[:12])])

    peaks, state, start = [], np.zeros(24), times[0]
    for end in [*times[1:], times[-1] + after]:
        if end > start:
            at = np.linspace(start + 1e-9, end - 1e-9, 2000)
            run = solve_ivp(motion, (at[0], at[-1]), state, t_eval=at, rtol=1e-7, atol=1e-8)
            state = run.y[:, -1]
            peaks.append(np.abs(share @ run.y[:12]).max())
        start = end
    return max(peaks[:-1]), peaks[-1]


def steady(accelerations):
    return slosh.steady_rise(ESPRESSO[0], np.abs(accelerations).max())


# ---- the three kinds of stop


def test_shaped_stop_keeps_the_espresso_in_the_cup():
    rise = steady(SHAPED[1])
    peak, swing = swung(*SHAPED)
    assert SHAPED[0][-1] <= 1.0
    assert peak <= 1.05 * rise and swing < 0.02 * rise
    for viscosity in (0.0, 1.0):
        modes = slosh.wall_modes(*ESPRESSO, viscosity)
        assert response.peak(*SHAPED, *modes) <= 1.05 * rise
        assert response.residual(*SHAPED, *modes) < 0.02 * rise


@pytest.mark.parametrize("plain", [
    stop.constant_stop(400, 1.0), stop.power_cut(400, 353), stop.power_cut(400, 865)])
def test_plain_stops_are_worse(plain):
    modes = slosh.wall_modes(*ESPRESSO)
    peak, swing = swung(*plain)
    rise = steady(plain[1])
    assert peak > 1.6 * rise and swing > 0.2 * rise
    assert response.peak(*plain, *modes) >= peak * 0.999
    assert response.peak(*plain, *modes) > response.peak(*SHAPED, *modes)
    assert response.residual(*plain, *modes) > 10 * response.residual(*SHAPED, *modes)


@settings(deadline=None, max_examples=40)
@given(st.floats(50, 800), st.lists(st.floats(0.15, 0.35), min_size=1, max_size=3), st.floats(0, 1))
def test_shaped_stop_leaves_no_swing_of_any_of_its_periods(speed, periods, room):
    time = stop.shortest_gentle_stop(periods) + room
    times, accelerations = stop.shaped_stop(speed, time, periods)
    for period in periods:
        mode = (2 * np.pi / period, 0.0, 1.0)
        top = np.abs(accelerations).max()
        assert response.residual(times, accelerations, *mode) < 2e-3 * top
        assert response.peak(times, accelerations, *mode) < 1.002 * top
    assert times[-1] == pytest.approx(time) and times[0] == 0
    assert np.all(accelerations <= 0) and accelerations[0] == 0 == accelerations[-1]
    assert stop.stop_distance(times, accelerations, speed) == pytest.approx(speed * time / 2, rel=1e-5)
    assert stop.speed_at(times, accelerations, speed, time) == pytest.approx(0, abs=1e-9 * speed)


@settings(deadline=None, max_examples=20)
@given(st.floats(0.15, 0.35), st.floats(0.1, 0.3), st.floats(0.5, 2))
def test_the_level_part_quiets_one_more_mode(first, second, time):
    assume(time > first + second)
    times, accelerations = stop.shaped_stop(400, time, [first], second)
    assert time - second <= times[-1] <= time + 1e-9
    for period in (first, second):
        assert response.residual(times, accelerations, 2 * np.pi / period, 0.0, 1.0) < 1e-6 * 400 / time


@pytest.mark.parametrize("share", [1.05, 1.3, 1.7])
def test_stop_between_one_and_two_periods_is_quiet_afterwards_but_higher(share):
    period = 0.25
    times, accelerations = stop.shaped_stop(400, share * period, [period])
    mode, top = (2 * np.pi / period, 0.0, 1.0), np.abs(accelerations).max()
    assert response.residual(times, accelerations, *mode) < 1e-6 * top
    assert 1.02 * top < response.peak(times, accelerations, *mode) <= 2 * top


def test_stops_that_cannot_be():
    with pytest.raises(ValueError, match=r"has no room for jerk phases of 0.25 s: give it 0.5 s"):
        stop.shaped_stop(400, 0.25, [0.25])
    for call in (lambda: stop.constant_stop(400, 0), lambda: stop.power_cut(400, 0),
                 lambda: stop.power_cut(0, 100), lambda: stop.shaped_stop(0, 1, [0.2]),
                 lambda: stop.shaped_stop(400, 1, [0.2, 0.0])):
        with pytest.raises(ValueError, match="above 0"):
            call()


@settings(deadline=None, max_examples=30)
@given(st.lists(st.floats(0.18, 0.32), min_size=1, max_size=5), st.floats(0.1, 2.5))
def test_jerk_phases_serve_every_cup(periods, time):
    phases, miss = stop.jerk_phases(periods, time, 0.04)
    off = max(min(abs(phase / period - 1) for phase in phases) for period in periods)
    assert off <= miss + 1e-12
    assert len(phases) == 1 or stop.shortest_gentle_stop(phases) <= time
    with_time, least = stop.jerk_phases(periods, 9.0, 0.04)
    assert least <= miss + 1e-12 and (least <= 0.02 or len(with_time) == min(len(set(periods)), 4))
    if stop.shortest_gentle_stop(phases) > time:
        return
    times, accelerations = stop.shaped_stop(100, time, phases)
    for period in periods:
        swing = response.residual(times, accelerations, 2 * np.pi / period, 0.0, 1.0)
        assert swing <= (2 * miss + 2e-3) * np.abs(accelerations).max()


def test_no_more_jerk_phases_than_are_needed():
    assert len(stop.jerk_phases([0.24, 0.25, 0.30], 9.0, tolerance=0.5)[0]) == 1
    assert stop.jerk_phases([0.24, 0.25, 0.30], 9.0, tolerance=0.05)[0].tolist() == [0.245, 0.30]
    assert stop.jerk_phases([0.24, 0.25, 0.30], 9.0, tolerance=0.0)[0].tolist() == [0.24, 0.25, 0.30]
    assert stop.jerk_phases([0.24, 0.25, 0.30], 0.3, tolerance=0.0)[0].tolist() == [0.27]


def test_speed_and_way_by_plain_sums():
    times, accelerations = stop.shaped_stop(400, 1.1, [0.25, 0.2])
    at = np.linspace(0, 1.1, 20001)
    felt = np.interp((at[1:] + at[:-1]) / 2, times, accelerations)
    speeds = 400 + np.append(0, np.cumsum(np.diff(at) * felt))
    assert stop.speed_at(times, accelerations, 400, at) == pytest.approx(speeds, abs=1e-4)
    assert stop.stop_distance(times, accelerations, 400) == pytest.approx(np.trapezoid(speeds, at), abs=1e-3)
    assert np.all(np.diff(stop.speed_at(times, accelerations, 400, at)) <= 1e-12)
    jump = stop.constant_stop(400, 1)
    assert stop.speed_at(*jump, 400, [-1, 0, 0.25, 1, 2]).round(9).tolist() == [400, 400, 300, 0, 0]
    assert stop.stop_distance(*jump, 400) == pytest.approx(200)
    # braking that grows evenly from 0 to 100 mm/s2 in a second: 100 t - 100 t^3/6
    assert stop.stop_distance([0, 1], [0, -100], 100) == pytest.approx(100 - 100 / 6)


# ---- curves


@pytest.mark.parametrize("wheelbase, ahead", [(0.0, 0.0), (70.0, 0.0), (70.0, 20.0), (70.0, -35.0)])
def test_curve_history_moves_the_cup_as_the_track_does(wheelbase, ahead):
    # independent: place both axles on a straight, a wide arc and its reverse, and look where the cup stands
    speed, lengths, curvatures = 200.0, [300.0, 300.0], [1 / 50000, -1 / 50000]

    def track(s):
        return (np.interp(s, [0, 300], [0, 300 / 50000]) * np.clip(s, 0, 300) / 2
                + np.where(s > 300, 300 / 50000 * (s - 300) - (np.clip(s, 300, 600) - 300) ** 2 / 1e5
                           - np.maximum(s - 600, 0) * 300 / 50000, 0))

    times, accelerations = curve_history(speed, lengths, curvatures, wheelbase, ahead)
    at = np.linspace(0, times[-1], 40001)
    front, rear = track(speed * at), track(speed * at - wheelbase)
    share = 0.5 + ahead / wheelbase if wheelbase else 1.0
    place = share * front + (1 - share) * rear
    step = at[1] - at[0]
    felt = np.interp(at, times, accelerations)
    moved = np.cumsum(np.cumsum(felt) * step) * step
    assert moved == pytest.approx(place, abs=2e-3)
    assert np.abs(place).max() > 0.5
    assert accelerations[-1] == pytest.approx(0, abs=1e-12)


def test_reverse_curve_is_worse_than_a_single_one():
    modes = slosh.wall_modes(*ESPRESSO)
    entry = response.peak(*curve_history(250, [500], [1 / 320]), *modes)
    worst = max(response.peak(*curve_history(250, [length, 500], [1 / 320, -1 / 320]), *modes)
                for length in np.linspace(300, 360, 13))
    assert worst > 1.5 * entry > 1.5 * slosh.steady_rise(27, 250**2 / 320)


# ---- markers and energy


@settings(deadline=None, max_examples=50)
@given(st.floats(50, 800), st.floats(0.002, 0.1), st.floats(0, 1), st.floats(0, 300))
def test_marker_is_seen_in_time(speed, sample_time, phase, way):
    ahead, long = traction.marker_ahead(speed, sample_time, way), traction.marker_length(speed, sample_time)
    samples = speed * sample_time * (phase + np.arange(-3, 6))  # where the sensor looks, marker from 0 on
    seen = samples[(samples >= 0) & (samples <= long * (1 + 1e-12))]
    assert len(seen) >= 2
    assert ahead - speed * sample_time - 1e-9 <= seen[0] + way <= ahead + 1e-9


def test_run_time():
    # a bank of 5,000 mAh at 3.7 V holds 18.5 Wh; at 85 % that runs 2 W for 7.8625 h
    assert traction.run_time(5000, 3.7, 0.85, 5.0, 0.4) == pytest.approx(7.8625 * 3600)
    with pytest.raises(ValueError, match="efficiency of 1.2 is outside"):
        traction.run_time(5000, 3.7, 1.2, 5.0, 0.4)
    with pytest.raises(ValueError, match="both must be above 0"):
        traction.run_time(5000, 3.7, 0.9, 5.0, 0.0)
