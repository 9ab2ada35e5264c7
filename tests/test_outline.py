"""Outlines in the plane, held to shapely's and to areas of school geometry."""

from math import pi, sin

import pytest
from shapely import Point, Polygon

from partgen.plan.outline import circle, rounded_rectangle


@pytest.mark.parametrize("length, width, radius, x, y", [(12.3, 7.1, 2.2, 0, 0), (4.1, 10.7, 1.3, 3.7, -5.2),
                                                         (4.2, 9.6, 7.0, 1.1, 2.3), (9.6, 4.2, 7.0, -2.4, 0.8)])
def test_a_rounded_rectangle_fills_its_rectangle_but_for_its_corners(length, width, radius, x, y):
    """A radius too large for the shorter side becomes half of it; of six chords a quarter holds 3 r2 sin 15 degrees."""
    found, r = Polygon(rounded_rectangle(length, width, radius, x, y)), min(radius, min(length, width) / 2)
    assert found.bounds == pytest.approx((x - length / 2, y - width / 2, x + length / 2, y + width / 2))
    assert found.is_valid and found.exterior.is_ccw
    assert found.area == pytest.approx(length * width - 4 * r**2 + 4 * 3 * r**2 * sin(pi / 12))


def test_a_circle_is_held_from_outside():
    found = Polygon(circle(7.3, 1.9, -4.4))
    assert found.covers(Point(1.9, -4.4).buffer(3.65 - 1e-9)) and found.area == pytest.approx(41.854, rel=2e-3)
