"""Standing on the bed: enough contact, not tall and thin; and hollows that nothing leads out of."""

import numpy as np
from shapely import MultiPoint
from trimesh.graph import connected_component_labels

from partgen.finding import Finding
from partgen.printing.posed import Posed, spot

CONTACT = 20.0          # mm2 that hold a part to the bed,
CONTACT_LOW = 2.0       # or for a low one mm2 for each mm of height (both common practice, no source)
SLENDER = 5.0           # height over the contact's smallest width (common practice, no source)
FLAT = 0.02             # mm: faces so low lie on the bed


def first_layer(posed: Posed) -> Finding:
    """Hold the contact with the bed and its smallest width against what the part's height needs.

    One finding, in mm2 for the contact or in mm for its width, whichever is worse.
    """
    area, width, height = contact(posed.mesh)
    least, enough = height / SLENDER, least_contact(height)
    small = posed.judge("first-layer", area, enough, "min", "mm2",
                        f"only {area:.1f} mm2 touch the bed: flatten or widen the foot by "
                        f"{enough - area:.1f} mm2, or print with a brim")
    thin = posed.judge("first-layer", width, least, "min", "mm",
                       f"{height:.1f} mm tall on a foot {width:.1f} mm wide: widen the foot to "
                       f"{least:.1f} mm, lay the part down, or print with a brim")
    return min(small, thin, key=lambda finding: finding.value / max(finding.limit, 1e-9))


def least_contact(height: float) -> float:
    """Return how much must touch the bed [mm2] under a part `height` [mm] tall."""
    return min(CONTACT, CONTACT_LOW * height)


def contact(mesh) -> tuple[float, float, float]:
    """Return what touches the bed [mm2], the smallest width of its hull [mm] and the part's height [mm]."""
    down = (mesh.triangles[:, :, 2].max(axis=1) <= FLAT) & (mesh.face_normals[:, 2] < -0.9)
    points = np.unique(mesh.triangles[down][:, :, :2].reshape(-1, 2), axis=0)
    return float(mesh.area_faces[down].sum()), smallest_width(points), float(mesh.bounds[1, 2])


def smallest_width(points) -> float:
    """Return the smallest distance [mm] of two parallel lines that take all points (n, 2) between them."""
    hull = MultiPoint(points).convex_hull if len(points) > 2 else None
    if hull is None or hull.geom_type != "Polygon":
        return 0.0
    ring = np.array(hull.exterior.coords)
    way = np.diff(ring, axis=0)
    normals = np.stack([-way[:, 1], way[:, 0]], axis=1) / np.hypot(*way.T)[:, None]
    across = ring @ normals.T
    return float((across.max(axis=0) - across.min(axis=0)).min())


def void(posed: Posed) -> Finding:
    """Count the volume of closed hollows: what lies in them stays there, and the slicer may fill them."""
    holes = voids(posed.mesh)
    volume = sum(size for size, _ in holes)
    place = spot(max(holes)[1]) if holes else ""
    return posed.judge("void", volume, 0.0, "max", "mm3",
                       f"{len(holes)} closed hollow of {volume:.1f} mm3 in all, around {place}: open it to "
                       "the outside by a hole, or fill it")


def voids(mesh) -> list[tuple[float, tuple[float, float, float]]]:
    """Return volume [mm3] and middle [mm] of every shell that is turned inward inside another."""
    labels = connected_component_labels(mesh.face_adjacency, node_count=len(mesh.faces))
    corners = mesh.triangles - mesh.bounds.mean(axis=0)
    sixth = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6
    volume = np.bincount(labels, weights=sixth)
    boxes = [mesh.triangles[labels == label].reshape(-1, 3) for label in range(len(volume))]
    boxes = [(points.min(axis=0), points.max(axis=0)) for points in boxes]
    around = [box for box, size in zip(boxes, volume) if size > 0]
    return [(float(-size), tuple((low + high) / 2)) for (low, high), size in zip(boxes, volume)
            if size < 0 and any((one < low).all() and (high < other).all() for one, other in around)]
