"""Axles, rods and washers of bought sizes, typed from their standards, and what a solid is held to beside them."""

import numpy as np
import pytest
from trimesh.creation import cylinder
from trimesh.graph import connected_components
from trimesh.transformations import rotation_matrix, translation_matrix

from partgen.describe.wagon_tables import Wheelset
from partgen.solids.overlap import solid

# ISO 4762 head diameter and height (geartoolkit.com), ISO 4032 nut: largest width across flats and height
# (engineersedge.com), nominal thread; all in mm.
HARDWARE = {
    "M2": (3.8, 2.0, 4.0, 1.6, 2.0),
    "M2.5": (4.5, 2.5, 5.0, 2.0, 2.5),
    "M3": (5.5, 3.0, 5.5, 2.4, 3.0),
}
# Outer diameter of large washers, ISO 7093-1 for M3, as sold for M2 and M2.5; from memory.
WASHER = {"M2": 6.0, "M2.5": 8.0, "M3": 9.0}
TOUCH = 0.02            # mm3: what chords of round fits may show
CLASH = 0.1             # mm3: more than any touch


def wheels(tread, flange, thick, back_to_back, axle, **more):
    return Wheelset(tread_diameter=tread, flange_diameter=flange, flange_thickness=thick,
                    back_to_back=back_to_back, width=2.6 * thick + 1, axle_diameter=axle, **more)


def stood(mesh, x=0.0, y=0.0, z=0.0, yaw=0.0):
    """Return `mesh` as a manifold, turned about z and moved."""
    copy = mesh.copy()
    copy.apply_transform(translation_matrix((x, y, z)) @ rotation_matrix(np.radians(yaw), (0, 0, 1)))
    return solid(copy)


def overlap(one, two):
    return (one ^ two).volume()


def rod(diameter, low, high, x=0.0, y=0.0):
    """Return an upright rod inside the circle of `diameter`."""
    return stood(cylinder(radius=diameter / 2, height=high - low, sections=64), x, y, (low + high) / 2)


def sound(item, shape):
    """Assert that a part is one closed solid of the planned size and about the planned volume."""
    assert shape.isValid() and len(shape.Solids()) == 1
    box = shape.BoundingBox()
    assert (box.xlen, box.ylen, box.zlen) == pytest.approx(item.plan.size, abs=0.05), item.name
    assert item.plan.volume == pytest.approx(shape.Volume(), rel=0.12), item.name
    assert item.plan.centroid_z == pytest.approx(shape.Center().z, abs=0.12 * item.plan.size[2]), item.name


def unsupported(mesh):
    """Yield the corners of the box round each patch of faces flatter than 45 degrees that hangs free."""
    low = mesh.bounds[0][2]
    hanging = (mesh.face_normals[:, 2] < -0.73) & (mesh.triangles_center[:, 2] > low + 0.45)
    pairs = mesh.face_adjacency
    for patch in connected_components(pairs[hanging[pairs].all(axis=1)], nodes=np.flatnonzero(hanging)):
        corners = mesh.triangles[patch].reshape(-1, 3)
        yield corners.min(axis=0), corners.max(axis=0)
