"""Boolean intersections of real meshes."""

from collections.abc import Iterable, Iterator
from itertools import combinations

from manifold3d import Manifold, Mesh64
from numpy import array, float64, uint64
from trimesh import Trimesh


def solid(mesh: Trimesh) -> Manifold:
    """Return the mesh as a manifold; an open mesh gives an empty one whose `status` says so."""
    return Manifold(Mesh64(vert_properties=array(mesh.vertices, dtype=float64, order="C"),
                           tri_verts=array(mesh.faces, dtype=uint64, order="C")))


def overlaps(named: Iterable[tuple[str, Trimesh]]) -> Iterator[tuple[str, str, float]]:
    """Yield (name, other name, overlap [mm3]) for every pair of (name, mesh) whose boxes meet."""
    solids = [(name, mesh.bounds, solid(mesh)) for name, mesh in named]
    for (name, box, one), (other, other_box, two) in combinations(solids, 2):
        if (box[0] < other_box[1]).all() and (other_box[0] < box[1]).all():
            yield name, other, (one ^ two).volume()
