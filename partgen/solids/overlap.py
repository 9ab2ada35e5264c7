"""Do assembled parts overlap: boolean intersections of the real meshes."""

from itertools import combinations

from manifold3d import Manifold, Mesh64
from numpy import array, float64, uint64

from partgen.finding import Finding, judge
from partgen.solids.built import Built

OVERLAP = 1.0           # mm3; facets of two round fits cross by less


def solid(mesh) -> Manifold:
    """Return the mesh as a manifold; an open mesh gives an empty one whose `status` says so."""
    return Manifold(Mesh64(vert_properties=array(mesh.vertices, dtype=float64, order="C"),
                           tri_verts=array(mesh.faces, dtype=uint64, order="C")))


def overlaps(named):
    """Yield (name, other name, overlap [mm3]) for every pair of (name, mesh) whose boxes meet."""
    solids = [(name, mesh.bounds, solid(mesh)) for name, mesh in named]
    for (name, box, one), (other, other_box, two) in combinations(solids, 2):
        if (box[0] < other_box[1]).all() and (other_box[0] < box[1]).all():
            yield name, other, (one ^ two).volume()


def interference(built: Built):
    """Hold the largest overlap of any two assembled parts of a wagon against a facet's worth."""
    for plan in built.train.wagons:
        named = [(item.name if item.count == 1 else f"{item.name} {number}", mesh)
                 for item, number, mesh in built.standing(plan)]
        found = [_one(plan, *pair) for pair in overlaps(named)]
        yield min(found, key=lambda finding: finding.margin,
                  default=judge("interference", plan.who, 0.0, OVERLAP, "max", "mm3", ""))


def _one(plan, name, other, overlap) -> Finding:
    return judge("interference", plan.who, overlap, OVERLAP, "max", "mm3",
                 f"{name} and {other} overlap by {overlap:.1f} mm3: lengthen or widen the body by 2 mm and build again")
