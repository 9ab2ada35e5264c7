"""Outlines in the plane, held to shapely's and to areas of school geometry."""

import pytest
from shapely import Point, Polygon, box

from partgen.plan.outline import around, circle


@pytest.mark.parametrize("length, width, radius", [(12.3, 7.1, 2.2), (4.1, 10.7, 1.3), (4.2, 9.6, 7.0), (9.6, 4.2, 7.0),
                                                   (8.0, 5.0, 0.0)])
def test_a_rounded_rectangle_is_held_from_outside(length, width, radius):
    """A radius too large for the shorter side becomes half of it; no mesh of true arcs reaches beyond."""
    found, r = Polygon(around(length, width, radius)), min(radius, min(length, width) / 2)
    true = box(r - length / 2, r - width / 2, length / 2 - r, width / 2 - r).buffer(r, quad_segs=64)
    assert found.bounds == pytest.approx((-length / 2, -width / 2, length / 2, width / 2))
    assert found.is_valid and found.exterior.is_ccw
    assert found.buffer(1e-9).covers(true) and found.area == pytest.approx(true.area, abs=0.02 * r**2 + 1e-9)


def test_a_circle_is_held_from_outside():
    found = Polygon(circle(7.3, 1.9, -4.4))
    assert found.covers(Point(1.9, -4.4).buffer(3.65 - 1e-9)) and found.area == pytest.approx(41.854, rel=2e-3)
