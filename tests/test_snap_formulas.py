"""Snaps' formulas against published figures and beams bent by integration."""

from math import acos, pi, radians

import numpy as np
import pytest
from scipy.integrate import quad

from partgen.formulas.snap import (
    arc_give,
    arm_force,
    arm_length,
    arm_strain,
    lips_push,
    ring_force,
    ring_strain,
    slenderness,
    wedge,
)
from partgen.plan.hardware import FRICTION


@pytest.mark.parametrize("thickness, length, deflection, strain", [
    (2.5, 15.0, 2.5, 0.0416),       # ntelab.com, "Why do perfect CAD snap-fits break", given as 4.16 %
    (2.5, 18.0, 2.5, 0.0289),       # the same, given as 2.8 %
    (1.6, 8.76, 0.8, 0.025),        # filamentfeed.com, "Snap fit design"
])
def test_arm_strain_agrees_with_published_examples(thickness, length, deflection, strain):
    assert arm_strain(thickness, length, deflection) == pytest.approx(strain, rel=5e-3)
    assert arm_length(thickness, deflection, strain) == pytest.approx(length, rel=5e-3)


def test_push_of_a_straight_arm_agrees_with_a_worked_example():
    """A moulder's guide, read on a secondary page: E 2300 MPa, 5 wide, 1.6 thick, 12 long, 0.8 mm aside takes 5.45 N;
    at friction 0.4 up a flank of 30 degrees 6.93 N. Its bending is 1.33 %."""
    force = arm_force(2300, 5, 1.6, 12, 0.8)
    assert force == pytest.approx(5.45, abs=5e-3) and force * wedge(0.4, radians(30)) == pytest.approx(6.93, abs=0.01)
    assert arm_strain(1.6, 12, 0.8) == pytest.approx(0.0133, abs=5e-5)
    assert slenderness(2300, 5, 0.8, force) == pytest.approx(12 / 1.6)


def bent(lever, length, thickness, deflection):
    """Strain at the root of any slender bar and c of its deflection c F/(E I), by Castigliano's theorem integrated
    numerically: of a unit load the curvature is the lever over E I, the deflection the integral of its square."""
    squared, _ = quad(lambda s: lever(s)**2, 0, length)
    return deflection / squared * max(lever(s) for s in np.linspace(0, length, 2001)) * thickness / 2, squared


@pytest.mark.parametrize("thickness, length, deflection", [(1.2, 11.4, 0.55), (2.0, 25.0, 1.0), (0.9, 6.0, 0.3)])
def test_arm_strain_is_that_of_a_beam(thickness, length, deflection):
    strain, squared = bent(lambda s: s, length, thickness, deflection)
    assert arm_strain(thickness, length, deflection) == pytest.approx(strain, rel=1e-9)
    assert arm_force(3500, 7, thickness, length, deflection) == pytest.approx(
        deflection / squared * 3500 * 7 * thickness**3 / 12)


@pytest.mark.parametrize("wrap", [210, 220, 230, 240, 360])
def test_an_arc_gives_as_a_bent_bar_does(wrap):
    """The force across the opening has the lever cos of the place less cos of the end, seen from the root."""
    end = radians(wrap / 2)
    _, squared = bent(lambda s: 2.8 * abs(np.cos(s / 2.8) - np.cos(end)), 2.8 * end, 1.0, 1.0)
    assert arc_give(end) == pytest.approx(squared / 2.8**3, rel=1e-6)


def test_a_split_ring_is_bent_as_two_arcs():
    strain, squared = bent(lambda s: 25 * (1 + np.cos(s / 25)), pi * 25, 3.0, 1.02)
    assert ring_strain(3.0, 25, 2.04) == pytest.approx(strain, rel=1e-6)
    assert ring_force(3500, 67.5, 25, 2.04) == pytest.approx(1.02 / squared * 3500 * 67.5, rel=1e-6)


@pytest.mark.parametrize("wrap, share, peak", [(210, 0.966, 0.71), (220, 0.940, 0.77), (230, 0.906, 0.84),
                                               (240, 0.866, 0.92)])
def test_push_between_lips_is_that_of_a_c_clip(wrap, share, peak):
    """Worked out apart from the package for a clip with sharp lips at friction 0.3; its gap is the chord that the wrap
    leaves of the shaft."""
    assert share == pytest.approx(np.sin(radians(wrap / 2)), abs=5e-4)
    assert lips_push(share, 0.3) == pytest.approx(peak, abs=6e-3)


@pytest.mark.parametrize("share", [0.82, 0.9, 0.96])
@pytest.mark.parametrize("friction", FRICTION)
def test_push_between_lips_by_the_work_done(share, friction):
    """Without friction the work of the push is what the arms store: half k y^2 each; with it the push is larger."""
    radius = 1.5
    drop = np.linspace(radius * np.sin(acos(share)), 1e-9, 20001)         # of the lips' edges below the bar's middle
    aside = np.sqrt(radius**2 - drop**2) - share * radius
    push = 2 * aside * np.gradient(aside, -drop)
    assert push[1:-1].max() / aside.max() == pytest.approx(lips_push(share, 0.0), rel=2e-3)
    assert lips_push(share, friction) > lips_push(share, 0.0)
    assert lips_push(share, friction, radians(10)) <= lips_push(share, friction) + 1e-12
