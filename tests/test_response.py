"""Swinging liquids through a ride, against scipy's step-by-step integration of the same equations.

Marks of the figures: MEM, from memory; CALC, worked out, a regression value and no outside authority.
"""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from partgen.formulas import response, slosh

ONE = (2 * np.pi, 0.0, 0.01)  # one undamped mode of period 1 s that rises 1 mm for 100 mm/s2


@st.composite
def histories(draw):
    """Breakpoints with lines, jumps and level pieces."""
    spans = draw(st.lists(st.sampled_from([0.0, 0.05, 0.13, 0.3]), min_size=2, max_size=6))
    values = draw(st.lists(st.floats(-800, 800), min_size=len(spans) + 1, max_size=len(spans) + 1))
    return np.append(0.0, np.cumsum(spans)), np.array(values)


@st.composite
def liquids(draw):
    count = draw(st.integers(1, 3))
    omegas = draw(st.lists(st.floats(8, 60), min_size=count, max_size=count))
    dampings = draw(st.lists(st.sampled_from([0.0, 0.01, 0.2]), min_size=count, max_size=count))
    return np.array(omegas), np.array(dampings), np.linspace(2e-3, 5e-4, count)


def integrated(times, values, liquid, at):
    """Rise at each time, piece by piece with a solver that knows nothing of the closed form."""
    omegas, dampings, rises = liquid
    state, count, found = np.zeros(2 * len(omegas)), len(omegas), np.full(len(at), np.nan)
    times, values = [*times, at[-1] + 1], [*values, values[-1]]

    def motion(t, y, start, end, first, last):
        force = first + (last - first) * (t - start) / (end - start)
        place, speed = y[:count], y[count:]
        return np.concatenate([speed, omegas**2 * (force - place) - 2 * dampings * omegas * speed])

    for (start, end), (first, last) in zip(pairwise(times), pairwise(values), strict=True):
        if end <= start:
            continue
        # Not DOP853: at rest it divides 0 by 0 where a library has the smallest numbers flushed to zero.
        run = solve_ivp(motion, (start, end), state, method="RK45", rtol=1e-9, atol=1e-10, dense_output=True,
                        args=(start, end, first, last))
        inside = (at >= start) & (at <= end)
        found[inside] = rises @ run.sol(at[inside])[:count]
        state = run.y[:, -1]
    return found


@settings(deadline=None, max_examples=25)
@given(histories(), liquids())
def test_rise_as_integrated(history, liquid):
    at = np.sort(np.append(np.linspace(0, history[0][-1] + 0.7, 60), history[0]))
    expected = integrated(*history, liquid, at)
    assert response.rise(*history, *liquid, at) == pytest.approx(expected, abs=1e-5)


@settings(deadline=None, max_examples=25)
@given(histories(), liquids())
def test_peak_and_residual_bound_what_happens_and_are_reached(history, liquid):
    end = history[0][-1]
    during = np.abs(response.rise(*history, *liquid, np.linspace(0, end, 20001))).max()
    after = response.rise(*history, *liquid, np.linspace(end, end + 40, 60001))
    steady, swing = history[1][-1] * liquid[2].sum(), response.residual(*history, *liquid)
    peak = response.peak(*history, *liquid)
    assert peak >= max(during, np.abs(after).max()) * (1 - 1e-3) - 1e-9
    assert peak == pytest.approx(max(during, abs(steady) + swing), rel=1e-3, abs=1e-9)
    assert np.abs(after - steady).max() <= swing * (1 + 1e-9) + 1e-9
    if len(liquid[0]) == 1 and not liquid[1].any():  # one undamped mode reaches its bound
        assert np.abs(after - steady).max() == pytest.approx(swing, rel=1e-3, abs=1e-9)


@pytest.mark.parametrize("ramp, factor", [(0, 2), (0.5, 1.6366), (1, 1), (1.5, 1.2122), (2, 1)])
def test_ramp_factors(ramp, factor):
    # CALC of a textbook result, MEM: peak over steady rise of a ramp of tr/T is 1 + |sin(pi tr/T)/(pi tr/T)|
    assert 1 + abs(np.sinc(ramp)) == pytest.approx(factor, abs=1e-4)
    assert response.peak([0, ramp], [0 if ramp else 100, 100], *ONE) == pytest.approx(factor, rel=1e-3)


@settings(deadline=None)
@given(st.floats(0.01, 20), st.floats(0.05, 5))
def test_any_ramp_peaks_by_its_factor(ramp, period):
    peak = response.peak([0, ramp], [0, 100], 2 * np.pi / period, 0.0, 0.01)
    assert peak == pytest.approx(1 + abs(np.sinc(ramp / period)), rel=1e-3)


def test_even_acceleration_over_whole_periods_leaves_nothing():
    # the rule of JDSMC 10.1115/1.4047957, abstract SEEN
    for count in (1, 2, 5):
        assert response.residual([0, count, count], [100, 100, 0], *ONE) == pytest.approx(0, abs=1e-9)
    assert response.residual([0, 1.5, 1.5], [100, 100, 0], *ONE) == pytest.approx(2)


def test_slow_acceleration_only_tilts_the_liquid():
    modes = slosh.wall_modes(27, 36)
    assert response.peak([0, 30], [0, 500], *modes) == pytest.approx(slosh.steady_rise(27, 500), rel=5e-3)


@settings(deadline=None, max_examples=30)
@given(histories(), liquids(), st.floats(0, 2 * np.pi))
def test_two_directions(history, liquid, turn):
    times, values = history
    both = np.column_stack([values, values[::-1]])
    rotation = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    for figure in (response.peak, response.residual):
        # the cup is round: which way the axes point does not matter, and one axis alone is the plain case
        turned = figure(times, both @ rotation, *liquid)
        assert turned == pytest.approx(figure(times, both, *liquid), rel=2e-3, abs=1e-6)
        alone = figure(times, np.outer(values, rotation[0]), *liquid)
        assert alone == pytest.approx(figure(times, values, *liquid), rel=1e-6, abs=1e-6)
    at = np.linspace(0, 1, 5)
    plain = response.rise(times, values, *liquid, at)
    assert response.rise(times, both, *liquid, at)[:, 0] == pytest.approx(plain)


def test_a_swing_that_runs_round_the_wall():
    # steps a quarter period apart, across each other: x = 1 - cos, y = 1 - sin, a circle of one step's size
    left = response.residual([0, 0, 0.25, 0.25], [[0, 0], [100, 0], [100, 0], [100, 100]], *ONE)
    assert left == pytest.approx(1.0)
    together = response.residual([0, 0], [[0, 0], [100, 100]], *ONE)
    assert together == pytest.approx(math.sqrt(2))


def test_before_the_ride_all_is_still():
    assert response.rise([1, 1], [0, 100], *ONE, [0.0, 0.9]).tolist() == [0, 0]


@pytest.mark.parametrize("times, damping, words", [
    ([0, 1, 0.5], 0.0, "must not run backwards"),
    ([0, 1, 2], 1.0, "below 1"), ([0, 1, 2], -0.1, "0 or more")])
def test_bad_input(times, damping, words):
    with pytest.raises(ValueError, match=words):
        response.peak(times, [0, 1, 0], 6.0, damping, 0.01)
