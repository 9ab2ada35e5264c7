"""Outlines cut from real meshes, one a clearance band."""

from numpy import vstack
from shapely import MultiPoint
from trimesh.intersections import slice_mesh_plane

from partgen.checks import throw
from partgen.plan.outline import Outline
from partgen.solids.built import Built


def between(mesh, low: float, high: float):
    """Return the mesh's corner points (n, 3) [mm] between two heights, cuts at the heights included."""
    for height, normal in ((low, (0, 0, 1)), (high, (0, 0, -1))):
        if not len(mesh.faces):
            break
        mesh = slice_mesh_plane(mesh, normal, (0, 0, height), cap=False)
    return mesh.vertices if len(mesh.faces) else mesh.vertices[:0]


def cut(built: Built, plan) -> tuple[Outline, ...]:
    """Return the convex outline of every part of a wagon in every clearance band; standing cups as planned."""
    found = [outline for outline in plan.outlines if outline.part == "cup"]
    by_part: dict[str, list] = {}
    for item, _, mesh in built.standing(plan):
        by_part.setdefault(item.name, []).append(mesh)
    for name, meshes in by_part.items():
        for band in built.train.description.track.clearance:
            points = vstack([between(mesh, band.low, band.high) for mesh in meshes])
            if len(points) > 2:
                hull = MultiPoint(points[:, :2]).convex_hull
                if hull.geom_type == "Polygon":
                    found.append(Outline(name, band.low, band.high, tuple(hull.exterior.coords)[:-1]))
    return tuple(found)


def throws(built: Built):
    """Hold the throw of the real outlines against the structure clearance."""
    return throw.of_outlines(built.train, {plan.name: cut(built, plan) for plan in built.train.wagons})
