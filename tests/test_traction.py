"""Pull and resistance, against full-size formulas in use and a simulated coasting train.

Marks of the figures: SEEN, read in the source; SEEN-2, read on a secondary page; MEM, from memory.
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from partgen.formulas import stop, traction

G = 9806.65


def test_full_size_curve_resistance():
    # SEEN-2: railways reckon k/R in parts per thousand, R in metres: 446 (US), 573 (China), 600 (England),
    # 700 (USSR), 800 (Italy) (an encyclopedia's page on curve resistance, which calls them all too high). The
    # sliding of a two-axle wagon, 1.5 m between treads and 4.5 m between axles (MEM), spans them at the
    # frictions of .1 to .27 that Molesworth prints (SEEN).
    low, high = (1000 * traction.curve_resistance(1e7, 1e6, 1500, 4500, f) / traction.weight(1e7) * 1000
                 for f in (0.1, 0.27))
    assert low < 446 < 800 < high
    mean = traction.curve_resistance(1e7, 1e6, 1500, 4500, 0.2) / traction.weight(1e7) * 1e6
    assert 446 < mean < 700


@settings(deadline=None)
@given(st.floats(20, 60), st.floats(30, 150), st.floats(200, 2000), st.floats(0.05, 0.4))
def test_curve_resistance_is_more_than_the_work_of_sliding(spacing, wheelbase, radius, friction):
    # independent: a wagon turning about the curve's centre, wheels free to roll only along its own axis
    wheels = np.array([(x, y) for x in (wheelbase / 2, -wheelbase / 2) for y in (spacing / 2, -spacing / 2)])
    motion = np.column_stack([1 - wheels[:, 1] / radius, wheels[:, 0] / radius])  # for each length of way
    rolling = np.column_stack([np.ones(4), np.zeros(4)])  # both wheels of an axle turn alike
    work = friction * traction.weight(300) / 4 * np.linalg.norm(motion - rolling, axis=1).sum()
    ours = traction.curve_resistance(300, radius, spacing, wheelbase, friction)
    assert work <= ours * (1 + 1e-12) and ours <= math.sqrt(2) * work * (1 + 1e-12)


def test_rolling_of_full_size_wheels():
    # SEEN-2, a physics page: 0.002 to 0.003 for steel wheels on steel rails: 20 to 29 N a tonne
    assert 19 < traction.rolling_resistance(1e6, 0.002) < traction.rolling_resistance(1e6, 0.003) < 30
    assert traction.rolling_resistance(1e6, 0.0025) == pytest.approx(1000 * 9.80665 * 0.0025)


def test_a_train_coasts_as_long_as_its_profile_says():
    deceleration = G * (0.036 * math.cos(math.radians(1)) + math.sin(math.radians(1)))
    speed, way, step, time = 400.0, 0.0, 1e-4, 0.0
    while speed > 0:
        force = traction.rolling_resistance(500, 0.036) * math.cos(math.radians(1)) + traction.gradient_force(
            500, math.radians(1))
        speed -= force / 500 * 1e6 * step
        way, time = way + speed * step, time + step
    profile = stop.power_cut(400, deceleration)
    assert time == pytest.approx(profile[0][-1], abs=3e-4)
    assert way == pytest.approx(stop.stop_distance(*profile, 400), rel=1e-3)


def test_locked_wheels_lie_between_coasting_and_all_wheels_sliding():
    assert traction.locked_deceleration(400, 0, 0.2, 0.03) == pytest.approx(0.2 * G)
    assert traction.locked_deceleration(0, 900, 0.2, 0.03) == pytest.approx(0.03 * G)
    assert 0.03 * G < traction.locked_deceleration(400, 900, 0.2, 0.03) < 0.2 * G


@settings(deadline=None)
@given(st.lists(st.floats(0, 2), min_size=1, max_size=12))
def test_each_coupling_pulls_what_is_behind_it(resistances):
    pulls = traction.coupling_pulls(resistances)
    assert pulls[0] == pytest.approx(sum(resistances)) and pulls[-1] == pytest.approx(resistances[-1])
    assert np.all(np.diff(pulls) <= 1e-12)
    assert pulls[:-1] - pulls[1:] == pytest.approx(resistances[:-1])


@settings(deadline=None)
@given(st.floats(50, 2000), st.floats(0.05, 0.5))
def test_a_slope_as_steep_as_its_friction_ends_the_pull(mass, adhesion):
    slope = math.atan(adhesion)
    force = traction.gradient_force(mass, slope)
    assert traction.adhesion_limit(mass, adhesion, slope) == pytest.approx(force)
    assert traction.gradient_force(mass, -slope) == -traction.gradient_force(mass, slope)
    assert traction.inertia_force(mass, G) == pytest.approx(traction.weight(mass))
