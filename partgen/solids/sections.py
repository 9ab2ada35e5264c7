"""Meshes cut by planes: open for a look inside, and into bands for the outlines of what reaches sideways."""

from collections.abc import Iterable, Iterator

from numpy import array, ndarray, vstack
from shapely import MultiPoint
from trimesh import Trimesh
from trimesh.intersections import slice_mesh_plane

from partgen.plan.outline import Outline
from partgen.solids.overlap import solid


def halved(mesh: Trimesh, normal: tuple[float, float, float], offset: float) -> Trimesh:
    """Return what of a closed `mesh` [mm] lies on the side of a plane that `normal` points to.

    The plane is `offset` [mm] from the origin along `normal`; the cut face is closed, so that walls look solid.
    """
    data = solid(mesh).trim_by_plane(tuple(normal), offset).to_mesh64()
    return Trimesh(array(data.vert_properties[:, :3]), data.tri_verts.astype(int), process=False)


def outlines(name: str, meshes: Iterable[Trimesh], bands: Iterable[tuple[float, float]]) -> Iterator[Outline]:
    """Yield the convex outline of a part's meshes [mm], as they stand in the wagon, in every band (low, high) [mm]."""
    meshes = tuple(meshes)
    for low, high in bands:
        points = vstack([between(mesh, low, high) for mesh in meshes])
        hull = MultiPoint(points[:, :2]).convex_hull if len(points) > 2 else None
        if hull is not None and hull.geom_type == "Polygon":
            yield Outline(name, low, high, tuple(hull.exterior.coords)[:-1])


def between(mesh: Trimesh, low: float, high: float) -> ndarray:
    """Return the mesh's corner points (n, 3) [mm] between two heights, cuts at the heights included."""
    for height, normal in ((low, (0, 0, 1)), (high, (0, 0, -1))):
        if not len(mesh.faces):
            break
        mesh = slice_mesh_plane(mesh, normal, (0, 0, height), cap=False)
    return mesh.vertices if len(mesh.faces) else mesh.vertices[:0]
