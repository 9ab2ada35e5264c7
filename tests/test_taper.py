"""The first mode of a liquid in a cup of any turned shape: frequency, share and height by finite elements (scikit-fem,
quadratic, of the pressure on wall and floor itself), bowls with a known answer, and the cylinder's formulas.
"""

import math

import cylinder
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse.linalg import eigsh
from skfem import Basis, BilinearForm, ElementTriP2, FacetBasis, Functional, MeshTri
from skfem.helpers import dot, grad

from partgen.formulas import slosh, taper

G = 9806.65


def finite_elements(heights, radii, across=24, up=40):
    """Angular frequency [rad/s], volume that swings [mm3], height over the floor [mm] of what pushes as the pressure on
    wall and floor does, all of the first antisymmetric mode."""
    mesh = MeshTri.init_tensor(np.linspace(0, 1, across + 1) ** 0.7, np.linspace(0, 1, up + 1) ** 0.7 * heights[-1])
    share, z = mesh.p
    mesh = MeshTri(np.array([share * np.interp(z, heights, radii), z]), mesh.t)
    basis = Basis(mesh, ElementTriP2(), intorder=5)
    top = mesh.facets_satisfying(lambda x: np.isclose(x[1], heights[-1]))
    axis = mesh.facets_satisfying(lambda x: np.isclose(x[0], 0))
    wet = np.setdiff1d(mesh.boundary_facets(), np.concatenate([top, axis]))
    surface, walls = (FacetBasis(mesh, ElementTriP2(), facets=one, intorder=5) for one in (top, wet))
    stiff = BilinearForm(lambda u, v, w: (dot(grad(u), grad(v)) + u * v / w.x[0]**2) * w.x[0]).assemble(basis)
    mass = BilinearForm(lambda u, v, w: u * v * w.x[0]).assemble(surface)
    still = basis.get_dofs(axis).all()          # the mode is antisymmetric: still on the axis
    free = np.setdiff1d(np.arange(basis.N), still)
    values, vectors = eigsh(stiff[free][:, free], k=1, M=mass[free][:, free] + 1e-12 * stiff[free][:, free], sigma=0.0)
    phi = np.zeros(basis.N)
    phi[free] = vectors[:, 0]
    k = values[0]

    def total(what, on):
        return Functional(lambda w: what(w.p, *w.x, *w.n) * w.x[0]).assemble(on, p=on.interpolate(phi))

    mean, square = total(lambda p, r, z, *_: p * r, surface), total(lambda p, *_: p**2, surface)
    push = total(lambda p, r, z, along, up: p * along, walls)
    turning = total(lambda p, r, z, along, up: p * (z * along - r * up), walls)
    return math.sqrt(G * k), math.pi * k * mean**2 / square, turning / push


CUPS = [([0, 40], [25, 25]), ([0, 40], [17, 25]), ([0, 30], [8, 30]), ([0, 6.5, 26.5, 36], [18, 20.5, 23.5, 24.6]),
        ([0, 15], [20, 35]), ([0, 18, 38, 73], [10.8, 26.8, 30.8, 25.8]), ([0, 60], [30, 24])]


@pytest.mark.parametrize("heights, radii", CUPS)
def test_first_mode_by_finite_elements(heights, radii):
    omega, volume, pressed = finite_elements(heights, radii)
    ours, swings, spring = taper.first_mode(heights, radii)
    assert ours == pytest.approx(omega, rel=1.5e-3)
    assert swings == pytest.approx(volume, rel=3e-3)
    # the weight of what moves aside, g/omega^2 for each unit of push, is counted apart from the spring
    assert spring + G / ours**2 == pytest.approx(pressed, abs=0.01 * radii[-1])


@pytest.mark.parametrize("radius, depth", [(25, 40), (30, 15), (40, 30), (25, 100)])
def test_in_a_cylinder_they_are_its_formulas(radius, depth):
    omega, volume, spring = taper.first_mode([0, depth], [radius, radius])
    assert omega == pytest.approx(slosh.omega(radius, depth), rel=1e-4)
    assert volume == pytest.approx(cylinder.mass_fraction(radius, depth) * math.pi * radius**2 * depth, rel=1e-3)
    assert spring == pytest.approx(cylinder.height_of_spring_mass(radius, depth) * depth, abs=0.01 * radius)


def test_a_bowl_swings_more_of_its_liquid_than_the_cylinder_round_it():
    """Of a bowl that leans out by 45 degrees 0.76, of the cylinder of its surface and depth 0.53."""
    heights, radii = [0, 30], [10, 40]
    whole = math.pi * 30 / 3 * (10**2 + 10 * 40 + 40**2)
    share = finite_elements(heights, radii)[1] / whole
    assert taper.first_mode(heights, radii)[1] / whole == pytest.approx(share, rel=3e-3)
    assert share > 1.3 * cylinder.mass_fraction(40, 30)


@pytest.mark.parametrize("depth", [25.0, 20.0, 12.0])
def test_bowls_with_a_known_frequency(depth):
    # phi = x (z + c) is harmonic, flows along the wall r^2 = z^2 + 2 c z, and has lambda = 1/(depth + c) on
    # top; c = 0 is the cone of 45 degrees. CALC, checked by putting it into the equations.
    c = (25**2 - depth**2) / (2 * depth)
    heights = depth * np.linspace(0, 1, 400) ** 2
    radii = np.sqrt(heights**2 + 2 * c * heights)
    assert taper.first_mode(heights, radii)[0] == pytest.approx(math.sqrt(9806.65 / (depth + c)), rel=1e-4)


@settings(deadline=None, max_examples=60)
@given(st.floats(10, 45), st.floats(0.1, 6), st.floats(0, 45))
def test_equivalent_cylinder_errs_to_the_fast_side(radius, depth, lean):
    depth *= radius
    foot = max(radius - depth * math.tan(math.radians(lean)), 0.05 * radius)
    ours, cylinder = taper.first_mode([0, depth], [foot, radius])[0], slosh.omega(radius, depth)
    assert ours <= cylinder * (1 + 1e-5)
    if foot == radius:
        assert ours == pytest.approx(cylinder, rel=5e-5)
    # a narrower foot never makes it swing faster
    assert taper.first_mode([0, depth], [0.9 * foot, radius])[0] <= ours * (1 + 1e-4)
