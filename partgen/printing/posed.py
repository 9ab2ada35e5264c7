"""A part as it lies on the bed, looked at once for all wagons that use it: what it stands on, what hangs, hollows."""

from collections.abc import Iterator
from functools import cached_property

import numpy as np
from msgspec import Struct
from shapely import MultiPoint
from trimesh import Trimesh
from trimesh.graph import connected_component_labels

from partgen.describe.printer_tables import Printer
from partgen.formulas.plastic import overhang_limit
from partgen.identity import PrintedId
from partgen.plan.item import Item
from partgen.printing.overhang import Region, regions
from partgen.solids.built import Built, lay
from partgen.solids.mesh_key import digest

USUAL = 45.5            # deg from upright: 45, and what the facets of a round chamfer add
STEEPEST = 60.0         # deg; thinner layers promise more than cooling keeps (common practice, no source)
CONTACT = 20.0          # mm2 that hold a part to the bed,
CONTACT_LOW = 2.0       # or for a low one mm2 for each mm of height (both common practice, no source)
SLENDER = 5.0           # height over the contact's smallest width (common practice, no source)
FLAT = 0.02             # mm: faces so low lie on the bed


class Posed(Struct, frozen=True, eq=False, dict=True):
    """A mesh [mm] in its print pose, standing on z = 0 with its middle over the origin, and its printer.

    `subject` names the part for findings.
    """

    subject: PrintedId
    mesh: Trimesh
    printer: Printer

    @property
    def key(self) -> tuple[str, str]:
        """All that the answers to how it prints hang on, whoever it is."""
        return digest(self.mesh), repr(self.printer)

    @property
    def overhang_limit(self) -> float:
        """Steepest face [deg from upright] that carries itself: half a line rests below, 45 at least."""
        return min(max(USUAL, overhang_limit(self.printer.layer, self.printer.line_width)), STEEPEST)

    @cached_property
    def regions(self) -> tuple[Region, ...]:
        """The regions that do not carry themselves."""
        return regions(self.mesh, self.overhang_limit, self.printer.layer, self.printer.line_width)


def alike(built: Built) -> Iterator[tuple[Posed, Item, list[PrintedId]]]:
    """Yield each kind of part in its print pose, its item, and the subjects of all printed from it."""
    kinds: dict[tuple[int, str], list[tuple[PrintedId, Item, Trimesh]]] = {}
    for plan, item, mesh in built.parts():
        kinds.setdefault((id(mesh), item.part), []).append((plan.part_id(item.name), item, mesh))
    for users in kinds.values():
        subject, item, mesh = users[0]
        posed = Posed(subject, lay(item, mesh, built.train.description.printer), built.train.description.printer)
        yield posed, item, [one for one, *_ in users]


# What it stands on, and what nothing leads out of

def least_contact(height: float) -> float:
    """Return how much must touch the bed [mm2] under a part `height` [mm] tall."""
    return min(CONTACT, CONTACT_LOW * height)


def contact(mesh: Trimesh) -> tuple[float, float, float]:
    """Return what touches the bed [mm2], the smallest width of its hull [mm] and the part's height [mm]."""
    down = (mesh.triangles[:, :, 2].max(axis=1) <= FLAT) & (mesh.face_normals[:, 2] < -0.9)
    points = np.unique(mesh.triangles[down][:, :, :2].reshape(-1, 2), axis=0)
    return float(mesh.area_faces[down].sum()), smallest_width(points), float(mesh.bounds[1, 2])


def smallest_width(points: np.ndarray) -> float:
    """Return the smallest distance [mm] of two parallel lines that take all points (n, 2) between them."""
    hull = MultiPoint(points).convex_hull if len(points) > 2 else None
    if hull is None or hull.geom_type != "Polygon":
        return 0.0
    ring = np.array(hull.exterior.coords)
    way = np.diff(ring, axis=0)
    normals = np.stack([-way[:, 1], way[:, 0]], axis=1) / np.hypot(*way.T)[:, None]
    across = ring @ normals.T
    return float((across.max(axis=0) - across.min(axis=0)).min())


def voids(mesh: Trimesh) -> list[tuple[float, tuple[float, float, float]]]:
    """Return volume [mm3] and middle [mm] of every shell that is turned inward inside another."""
    labels = connected_component_labels(mesh.face_adjacency, node_count=len(mesh.faces))
    corners = mesh.triangles - mesh.bounds.mean(axis=0)
    sixth = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6
    volume = np.bincount(labels, weights=sixth)
    boxes = [mesh.triangles[labels == label].reshape(-1, 3) for label in range(len(volume))]
    boxes = [(points.min(axis=0), points.max(axis=0)) for points in boxes]
    around = [box for box, size in zip(boxes, volume, strict=True) if size > 0]
    return [(float(-size), tuple((low + high) / 2)) for (low, high), size in zip(boxes, volume, strict=True)
            if size < 0 and any((one < low).all() and (high < other).all() for one, other in around)]
