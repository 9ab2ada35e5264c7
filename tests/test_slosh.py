"""Slosh formulas against a published worksheet, scipy's Bessel functions, and a finite-element liquid.

Marks of the figures: SEEN, read in the source; SEEN-2, read on a secondary page;
MEM, from memory; CALC, worked out, a regression value and no outside authority.
"""

import math

import cylinder
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.special import j1, jnp_zeros, jvp

from partgen.formulas import slosh

# ---- published figures

# SEEN: slosh worksheet after draft IS 1893 part 2 (scribd 163621625): D = 610 mm, h/D = 0.589, 105 kg. The
# sheet rounds to two places and has fits (3.68, 0.23, 0.836) for the exact constants: 1.5 % between them.
R, H = 305.0, 0.589 * 610.0


def period(radius, depth):
    return 2 * math.pi / slosh.omega(radius, depth)


def test_worksheet():
    x = slosh.ROOTS[0] * H / R
    assert math.tanh(3.682 * H / (2 * R)) == pytest.approx(0.974, abs=5e-4)
    assert cylinder.mass_fraction(R, H) == pytest.approx(0.38, abs=0.005)
    assert cylinder.mass_fraction(R, H) == pytest.approx(0.38039, rel=0.015)
    assert 105 * cylinder.mass_fraction(R, H) == pytest.approx(39.94, rel=0.015)
    # its heights: of the pressure on the wall alone, 0.63 = (1 + that of the spring's mass)/2; with the floor's, 0.74
    assert (1 + cylinder.height_of_spring_mass(R, H)) / 2 == pytest.approx(0.63, abs=0.005)
    assert cylinder.height_of_spring_mass(R, H) + 1 / (x * math.tanh(x)) == pytest.approx(0.74, abs=0.005)
    assert 105 * cylinder.mass_fraction(R, H) * slosh.omega(R, H)**2 == pytest.approx(2274.38, rel=0.015)     # N/m
    assert period(R, H) == pytest.approx(0.83, abs=0.005)
    assert period(R, H) == pytest.approx(0.8272, rel=0.001)  # CALC, exact root
    assert period(R, H) / math.sqrt(2 * R / 9806.65) == pytest.approx(3.32, abs=0.005)
    assert slosh.steady_rise(R, 12860) == pytest.approx(400, abs=5)  # wave height 0.40 m


@pytest.mark.parametrize("radius, depth, hertz, seconds, share", [
    # CALC, reference figures for cups, to 0.5 %
    (25, 40, 4.266, 0.234, 0.283), (30, 50, 3.897, 0.257, 0.272), (35, 80, 3.615, 0.277, 0.199),
    (35, 100, 3.615, 0.277, 0.159), (40, 60, 3.369, 0.297, 0.301),
])
def test_cups(radius, depth, hertz, seconds, share):
    assert slosh.omega(radius, depth) / (2 * np.pi) == pytest.approx(hertz, rel=0.005)
    assert period(radius, depth) == pytest.approx(seconds, rel=0.005)
    assert cylinder.mass_fraction(radius, depth) == pytest.approx(share, rel=0.005)


def test_ordinary_mugs_swing_near_the_frequency_published_for_them():
    # MEM: Mayer and Krechetnikov, Phys. Rev. E 85, 046117 (2012), 2.6 to 4.3 Hz; SEEN: Han (2015), near 4 Hz
    assert all(2.6 <= slosh.omega(r, 60) / (2 * np.pi) <= 4.3 for r in (30, 35, 40, 45))


def test_ten_foot_tank():
    # SEEN: Miles, report AM 6-5 (1956), summary: longest period 1.8 s in a deep tank of 10 feet diameter
    assert period(1524, 3 * 1524) == pytest.approx(1.8, abs=0.05)


def test_steady_rise():
    # SEEN-2: ja3.jsfiddle.net/parte/13040261: D 0.40 m, height 0.60 m, 4 m/s2: may be filled to 518 mm
    assert slosh.steady_rise(200, 4000) == pytest.approx(81.5, abs=0.1)
    assert 600 - slosh.steady_rise(200, 4000) == pytest.approx(518, abs=0.5)
    # SEEN-2: ceboardexamgenerator.com: box 4 x 2 x 1.2 m, depth 1.0, 5 m/s2: ends differ by 2.04 m, and
    # 5.176 m3 are spilt
    slope = slosh.steady_rise(1, 5000)
    assert 4 * slope == pytest.approx(2.04, abs=0.005)
    wedge = 2 * 1.2 * (1.2 / slope) / 2
    assert 4 * 2 * 1.0 - wedge == pytest.approx(5.176, abs=0.003)


# ---- modes


def test_roots_are_scipys():
    assert slosh.ROOTS == pytest.approx(jnp_zeros(1, 10), rel=1e-14)
    assert np.round(slosh.ROOTS[:3], 6).tolist() == [1.841184, 5.331443, 8.536316]


def test_shares_of_the_steady_rise_add_up():
    # CALC identity: the sum of 2/(xi^2 - 1) over all roots is 1; 2,000 of scipy's make 0.99990
    zeros = jnp_zeros(1, 1100)
    sums = np.cumsum(2 / (zeros**2 - 1))
    assert slosh.wall_share(np.arange(1, 11)).sum() == pytest.approx(sums[9], rel=1e-12)
    assert slosh.wall_share(1) == pytest.approx(0.8368, abs=1e-4)
    assert 1 - sums[-1] == pytest.approx(2 / (np.pi**2 * 1100), rel=0.01)  # tail: xi near n pi
    omegas, _, rises = slosh.wall_modes(27, 36, count=10)
    assert rises.sum() * 9806.65 == pytest.approx(27)
    assert np.all(np.diff(omegas) > 0) and np.all(rises > 0)
    assert slosh.wall_modes(27, 36, first=25.5)[0][0] == 25.5


@settings(deadline=None, max_examples=30)
@given(st.floats(10, 60), st.floats(0.2, 4), st.integers(1, 10))
def test_height_by_integrating_pressure(radius, depth, mode):
    # independent of the closed forms: pressure of the mode J1(k r) cosh(k z) cos(theta) on wall and floor
    k, h = jnp_zeros(1, 10)[mode - 1] / radius, depth * radius
    scale = j1(k * radius) * radius
    grow = math.exp(-k * h)
    wall = scale * quad(lambda z: math.cosh(k * z) * grow, 0, h)[0]
    wall_moment = scale * quad(lambda z: z * math.cosh(k * z) * grow, 0, h)[0]
    floor_moment = grow * quad(lambda r: j1(k * r) * r * r, 0, radius)[0]
    whole = (wall_moment + floor_moment) / wall / h
    # the spring's mass, moved by F/k, adds its weight's moment F g/omega^2
    spring = whole - cylinder.pendulum_length(radius, h, mode) / h
    assert cylinder.height_of_spring_mass(radius, h, mode) == pytest.approx(spring, abs=1e-6)


def test_height_as_worked():
    # CALC: x = 2.1675: 1 - (2/x) tanh(x/2)
    assert cylinder.height_of_spring_mass(slosh.ROOTS[0], 2.1675) == pytest.approx(0.2668, abs=1e-4)


@settings(deadline=None)
@given(st.floats(5, 500), st.floats(5, 500), st.integers(1, 10))
def test_frequency_falls_with_radius_and_rises_with_depth_and_mode(radius, depth, mode):
    here = slosh.omega(radius, depth, mode)
    assert slosh.omega(1.01 * radius, depth, mode) < here
    assert slosh.omega(radius, 1.01 * depth, mode) >= here
    assert cylinder.pendulum_length(radius, depth, mode) * here**2 == pytest.approx(9806.65)
    assert 0 < cylinder.mass_fraction(radius, depth, mode) <= slosh.wall_share(mode)
    deep, shallow = slosh.omega(radius, 1e3 * radius, mode), slosh.omega(radius, 1e-4 * radius, mode)
    xi = slosh.ROOTS[mode - 1]
    assert deep**2 == pytest.approx(9806.65 * xi / radius)
    assert shallow**2 == pytest.approx(9806.65 * 1e-4 * xi**2 / radius, rel=1e-4)


# ---- damping


@pytest.mark.parametrize("radius, depth, mode", [(25, 40, 1), (30, 12, 1), (40, 30, 2), (20, 60, 4)])
def test_laminar_damping_by_integrating_the_loss(radius, depth, mode):
    # independent of the closed form: the loss in a Stokes layer, U^2 sqrt(nu omega/2)/2 per density, from the
    # ideal flow's speed along wall and floor, over twice the flow's energy found in the volume
    k, nu = jnp_zeros(1, 10)[mode - 1] / radius, 1.0
    rate = math.sqrt(9806.65 * k * math.tanh(k * depth))

    def in_z(function):
        return quad(lambda z: function(k * z) ** 2 / math.cosh(k * depth) ** 2, 0, depth)[0]

    def in_r(function):
        return quad(lambda r: function(r) ** 2 * r, 0, radius)[0]

    cosh2, sinh2 = in_z(math.cosh), in_z(math.sinh)
    level = in_r(lambda r: k * jvp(1, k * r)) + in_r(lambda r: j1(k * r) / r if r else k / 2)
    energy = (level * cosh2 + k**2 * in_r(lambda r: j1(k * r)) * sinh2) / 2
    wall = radius * j1(k * radius) ** 2 * (cosh2 / radius**2 + k**2 * sinh2)
    floor = level / math.cosh(k * depth) ** 2
    zeta = math.sqrt(nu * rate / 2) / 2 * (wall + floor) / (2 * rate * energy)
    assert slosh.damping_laminar(radius, depth, nu, mode) == pytest.approx(zeta, rel=1e-6)


def damping_fit(radius, depth, viscosity):
    """First mode's damping ratio as fitted to measurements in smooth tanks: Mikishev and Dorozhkin (1961), SEEN-2 in
    several programs after NASA SP-106 chapter 4; some print 0.92 for 0.79. They scatter by about 30 % around it."""
    x = 1.84 * depth / radius
    bracket = 1 + 0.318 / math.sinh(x) * (1 + (1 - depth / radius) / math.cosh(x))
    return 0.79 * math.sqrt(viscosity / math.sqrt(9806.65 * radius**3)) * bracket


def test_damping_against_published_figures():
    # SEEN: Yang, Purandare, Peugeot and West (abstract, docslib 1739264): "as low as 0.0005" in a smooth tank
    # of 1 m diameter
    assert slosh.damping_laminar(500, 1500, 1.0) == pytest.approx(0.0005, rel=0.1)
    # SEEN: Miles, report AM 6-5 (1956), summary: laminar layers halve the amplitude in a 10 foot tank of
    # water in 7 minutes. Ours, the lower damping, halves the energy in that time: the safe side.
    rate = slosh.damping_laminar(1524, 3 * 1524, 1.0) * slosh.omega(1524, 3 * 1524)
    assert math.log(2) / (2 * rate) / 60 == pytest.approx(7, abs=0.5)
    # SEEN-2, a program's validation table: 0.0751 % in a deep tank of water, R = 0.5 m
    assert damping_fit(500, 5000, 1.0) == pytest.approx(0.000751, rel=1e-3)


@settings(deadline=None)
@given(st.floats(15, 60), st.floats(0.3, 3), st.floats(0.3, 5))
def test_measured_damping_is_more_than_laminar_layers_make(radius, depth, viscosity):
    fitted = damping_fit(radius, depth * radius, viscosity)
    assert 1.0 < fitted / slosh.damping_laminar(radius, depth * radius, viscosity) < 2.0
    assert slosh.damping_laminar(radius, 1.0, 0.0) == 0


def test_crests_stand_higher_than_first_order_says():
    # at a depth of 1.5 radii it is 5, 10, 20 % low at these rises over the radius: second-order potential theory by
    # modal projection, worked out apart from here (C2 = 0.864 there; ours is that of the worst depth known, 1.035)
    for share, low in ((0.058, 0.05), (0.116, 0.10), (0.231, 0.20)):
        assert low <= slosh.crest(share * 30, 30) / (share * 30) - 1 <= 1.25 * low
    rises = np.linspace(-3, 12, 31)
    assert slosh.before_crest(slosh.crest(rises, 27), 27) == pytest.approx(rises)
    # in two dimensions k a^2/2 (Stokes' second order, textbook): with k = 1.84/R that is 0.92 a^2/R, a tenth less
    assert 0.8 < (slosh.crest(2.0, 30) - 2.0) / (1.841 / 30 * 2.0**2 / 2) < 1.2


def test_climb_meets_the_leaning_wall():
    height = slosh.climb(3.0, 25, math.radians(12))
    assert height == pytest.approx(3.0 / 25 * (25 + height * math.tan(math.radians(12))))
    assert slosh.climb(3.0, 25, 0.0) == 3.0
    assert slosh.climb(30.0, 25, math.radians(45)) == np.inf
