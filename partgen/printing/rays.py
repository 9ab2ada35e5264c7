"""Points spread over a mesh's surface, and how far a ray from each runs to the next surface.

Rays are cast by embreex where its wheel exists (there is none for Linux on arm64) and by manifold3d
elsewhere; both are asked only about short ways and answer alike.
"""

import numpy as np
from msgspec import Struct

from partgen.solids.overlap import solid

try:
    from embreex.mesh_construction import TriangleMesh
    from embreex.rtcore_scene import EmbreeScene
except ImportError:
    EmbreeScene = None

CELL = 1.5              # mm2 of surface a sample stands for at most
MOST = 2000             # samples a face
STEP_OFF = 1e-3         # mm from the surface before a ray starts, so that it does not meet its own face
_STRIDE = (0.7548776662466927, 0.5698402909980532)
"""Steps of the additive recurrence that fills a square evenly: 1/p and 1/p^2 for p^3 = p + 1."""


class Samples(Struct, frozen=True):
    """Points on a surface: `points` (n, 3) [mm], their faces' outward `normals` (n, 3), the `area` (n,) [mm2]
    each stands for."""

    points: np.ndarray
    normals: np.ndarray
    area: np.ndarray


def samples(mesh) -> Samples:
    """Return the middle of every face [mm], and evenly spread points instead on a face larger than a cell."""
    count = np.clip(np.ceil(mesh.area_faces / CELL), 1, MOST).astype(int)
    face = np.repeat(np.arange(len(count)), count)
    number = np.arange(len(face)) - np.repeat(np.cumsum(count) - count, count)
    u, v = ((number + 1) * stride % 1.0 for stride in _STRIDE)
    u, v = np.where(u + v > 1, 1 - u, u), np.where(u + v > 1, 1 - v, v)
    alone = (count == 1)[face]
    u, v = np.where(alone, 1 / 3, u), np.where(alone, 1 / 3, v)
    a, b, c = (mesh.triangles[face, k] for k in range(3))
    points = a + u[:, None] * (b - a) + v[:, None] * (c - a)
    return Samples(points, mesh.face_normals[face], (mesh.area_faces / count)[face])


def nearest_hit(mesh, points, directions, reach: float, engine: str | None = None):
    """Return how far from each point its ray meets the mesh, and the outward normal there.

    Args:
        mesh: closed mesh [mm].
        points: where the rays start (n, 3) [mm]; a thousandth along them nothing is met yet.
        directions: unit vectors (n, 3) [1].
        reach: rays end here [mm].
        engine: "embree" or "manifold"; left out, the fastest there is.

    Returns distances (n,) [mm], `reach` where nothing is met, and normals (n, 3), zero there.
    """
    caster = {"embree": _embree, "manifold": _manifold}[engine or ("embree" if EmbreeScene else "manifold")]
    if not len(points):
        return np.empty(0), np.empty((0, 3))
    far, normals = caster(mesh, points + STEP_OFF * directions, directions, reach - STEP_OFF)
    return np.minimum(far + STEP_OFF, reach), normals


def _embree(mesh, starts, directions, reach):
    """Triangles go in as they are, moved to the origin: embree knows single precision only."""
    middle = mesh.bounds.mean(axis=0)
    scene = EmbreeScene()
    TriangleMesh(scene, (mesh.triangles - middle).astype(np.float32))
    found = scene.run((starts - middle).astype(np.float32), directions.astype(np.float32),
                      query="INTERSECT", output=1)
    met = (found["primID"] >= 0) & (found["tfar"] < reach)
    normals = np.where(met[:, None], mesh.face_normals[found["primID"]], 0.0)
    return np.where(met, found["tfar"], reach), normals


def _manifold(mesh, starts, directions, reach):
    """One short segment a ray: long ones meet every box in the tree of triangles and take far longer."""
    body = solid(mesh)
    far, normals = np.full(len(starts), reach), np.zeros((len(starts), 3))
    ends = starts + reach * directions
    for k, (start, end) in enumerate(zip(starts.tolist(), ends.tolist())):
        if hits := body.ray_cast(start, end):
            far[k], normals[k] = reach * hits[0].distance, hits[0].normal
    return far, normals
