"""Meshes cut open by a plane, closed again, for a look inside."""

from numpy import array
from trimesh import Trimesh

from partgen.solids.overlap import solid


def halved(mesh: Trimesh, normal, offset: float) -> Trimesh:
    """Return what of a closed `mesh` [mm] lies on the side of a plane that `normal` points to.

    The plane is `offset` [mm] from the origin along `normal`; the cut face is closed, so that walls look solid.
    """
    data = solid(mesh).trim_by_plane(tuple(normal), offset).to_mesh64()
    return Trimesh(array(data.vert_properties[:, :3]), data.tri_verts.astype(int), process=False)
