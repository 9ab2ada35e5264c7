"""The one bridge from a solid to a mesh: one mesh serves files, checks and pictures."""

import numpy as np
from cadquery import Face, Shape
from OCP.BRep import BRep_Tool
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.BRepTools import BRepTools
from OCP.TopAbs import TopAbs_Orientation
from OCP.TopLoc import TopLoc_Location
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree
from trimesh import Trimesh

from partgen.plan.fits import CHORD, TURN

_FINER = (1.0, 0.95, 0.75)
"""Of the tolerance of angles, by turns until a mesh is closed: at one the kernel leaves a face out, at the next not."""

_DOUBT = 1e-3           # share by which volumes of solid and mesh may differ before the kernel integrates with care
_ERROR = 1e-4           # relative, that it then keeps within
_WELD = 1e-3            # mm: where curved faces meet, the kernel's own points differ by up to a tenth of this


def mesh_of(shape: Shape, linear: float = CHORD, angular: float = TURN) -> Trimesh:
    """Return the mesh of `shape` [mm]: chords off by at most `linear` [mm] and `angular` [rad].

    The tolerance is absolute: the kernel's own default is relative to the edge and off by ten times that.
    Vertices of neighbouring faces are welded and degenerate triangles dropped. Where the kernel leaves a gap it is
    asked for a finer mesh; whether that is closed is for the checks to say.
    """
    for share in _FINER:
        mesh = _meshed(shape, linear, share * angular)
        if mesh.is_watertight:
            break
    return mesh


def volume_of(shape: Shape, mesh: Trimesh) -> float:
    """Return the volume [mm3] of a solid as the kernel integrates it; where its `mesh` has quite another, with care:
    the quick way takes too few points on a face with a fine notch in its edge."""
    quick = shape.Volume()
    return quick if abs(quick - mesh.volume) <= _DOUBT * quick else shape.Volume(_ERROR)


def _meshed(shape: Shape, linear: float, angular: float) -> Trimesh:
    BRepTools.Clean_s(shape.wrapped)
    BRepMesh_IncrementalMesh(shape.wrapped, linear, False, angular, False)
    corners, triangles, start = [], [], 0
    for face in shape.Faces():
        points, faces = _triangles(face)
        corners.append(points)
        triangles.append(faces + start)
        start += len(points)
    return _welded(np.vstack(corners), np.vstack(triangles))


def _triangles(face: Face) -> tuple[np.ndarray, np.ndarray]:
    """Return points (n, 3) [mm] and triangles (m, 3) of one meshed face, wound outward."""
    location = TopLoc_Location()
    poly = BRep_Tool.Triangulation_s(face.wrapped, location)
    if poly is None:
        return np.empty((0, 3)), np.empty((0, 3), dtype=int)
    move = location.Transformation()
    nodes = (poly.Node(k).Transformed(move) for k in range(1, poly.NbNodes() + 1))
    points = np.array([(node.X(), node.Y(), node.Z()) for node in nodes])
    faces = np.array([poly.Triangle(k).Get() for k in range(1, poly.NbTriangles() + 1)], dtype=int) - 1
    if face.wrapped.Orientation() == TopAbs_Orientation.TopAbs_REVERSED:
        faces = faces[:, ::-1]
    return points, faces


def _welded(points: np.ndarray, faces: np.ndarray) -> Trimesh:
    """Join points nearer than the weld distance, in first-seen order so that the bytes repeat.

    By distance, not on a grid: a grid's lines part neighbours however near they are.
    """
    near = cKDTree(points).query_pairs(_WELD, output_type="ndarray")
    links = coo_matrix((np.ones(len(near)), near.T), shape=(len(points),) * 2)
    number = connected_components(links, directed=False)[1]      # counted up from the first point on
    faces = number[faces]
    whole = (faces != np.roll(faces, 1, axis=1)).all(axis=1)
    return Trimesh(points[np.unique(number, return_index=True)[1]], faces[whole], process=False)
