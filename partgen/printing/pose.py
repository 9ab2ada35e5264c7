"""Does the planned print pose suit a part, or does it lie better on another of its sides?"""

from collections.abc import Iterator
from functools import partial

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from shapely import MultiPoint, Point
from trimesh import Trimesh
from trimesh.geometry import align_vectors

from partgen.identity import PrintedId
from partgen.parts import record_of
from partgen.parts.record import POSES, Part
from partgen.printing.posed import SLENDER, Posed, alike, contact, least_contact
from partgen.solids.built import Built, on_bed

SIDES = 8               # of a part's hull that are tried, the largest first
ALIKE = 0.999           # cosine: sides nearer than 2.6 deg are one
CLEARLY = 1.0           # mm2 less to support, or
LOWER = 0.8             # this share of the height, is worth another pose
SAME_MM2 = 0.1


class PrintPose(Struct, frozen=True):
    """One way to lie on the bed: which way of the part's own axes is `down`, area that hangs [mm2], how far its longest
    `bridge` is over what the printer spans level, height [mm], contact with the bed [mm2] and the contact's smallest
    width [mm]."""

    down: tuple[float, float, float]
    hanging: float
    bridge: float
    height: float
    contact: float
    width: float

    @property
    def stands(self) -> bool:
        """Does it hold to the bed while it is printed?"""
        return self.contact >= least_contact(self.height) and self.width * SLENDER >= self.height

    @property
    def prints(self) -> bool:
        """Does it need no support?"""
        return self.stands and self.hanging <= 0 and self.bridge <= 0


class Advice(Struct, frozen=True):
    """What the search says of one kind of part: the planned way, a better one if there is one, and in words.

    `kept` says why the planned way stays all the same; empty where nothing holds it.
    """

    subjects: tuple[PrintedId, ...]
    planned: PrintPose
    better: PrintPose | None
    kept: str
    text: str


def advise(built: Built) -> Iterator[Advice]:
    """Yield the advice on every kind of part, each searched once."""
    for posed, item, subjects in alike(built):
        said = built.kept.data("pose advice", (*posed.key, item.part), partial(advice, posed, record_of(item.part)),
                               Advice)
        yield replace(said, subjects=tuple(subjects))


def advice(posed: Posed, part: Part) -> Advice:
    """Try a part on the largest sides of its hull and compare the best with the planned way; of nobody yet."""
    own = np.array(POSES[part.pose], dtype=float)
    planned = lying(posed, np.array((0.0, 0.0, -1.0)), own)
    # What needs no support can only be bettered by lying lower, which takes no search to see.
    others = [lying(posed, down, own) for down in sides(posed.mesh)
              if not planned.prints or np.ptp(posed.mesh.vertices @ down) <= LOWER * planned.height]
    better = min((other for other in others if clearly_better(other, planned)), key=_rank, default=None)
    kept = part.kept if planned.prints or not (better and better.prints) else ""
    return Advice((), planned, better, kept, _words(part.pose, planned, better, kept))


def sides(mesh: Trimesh) -> list[np.ndarray]:
    """Return directions that may point down: outward normals of the hull's largest sides on which the part
    stays lying, the one that is down already left out, and so small ones that nothing holds on to the bed by them."""
    hull = mesh.convex_hull
    least = least_contact(mesh.extents.min()) / 2
    found = [np.array((0.0, 0.0, -1.0))]
    for k in np.argsort(-hull.facets_area.round(3), kind="stable"):
        normal, corners = hull.facets_normal[k], hull.vertices[np.unique(hull.faces[hull.facets[k]])]
        if len(found) > SIDES or hull.facets_area[k] < least:
            break
        if all(normal @ other < ALIKE for other in found) and _rests(corners, normal, mesh.center_mass):
            found.append(normal)
    return found[1:]


def _rests(corners: np.ndarray, normal: np.ndarray, centre: np.ndarray) -> bool:
    """Is the centre of gravity over the side it lies on?"""
    turn = align_vectors(normal, (0, 0, -1))[:3, :3]
    return MultiPoint((corners @ turn.T)[:, :2]).convex_hull.covers(Point((turn @ centre)[:2]))


def lying(posed: Posed, down: np.ndarray, own: np.ndarray) -> PrintPose:
    """Return how a part stands with `down` of its planned pose down; `own` turns its frame into that pose."""
    mesh = on_bed(posed.mesh.copy().apply_transform(align_vectors(down, (0, 0, -1))))
    turned = Posed(posed.subject, mesh, posed.printer)
    area, width, height = contact(turned.mesh)
    x, y, z = (round(float(share), 3) + 0.0 for share in own.T @ down)
    spans = (region.span - posed.printer.bridge for region in turned.regions if not region.hanging)
    return PrintPose((x, y, z), sum(region.hanging for region in turned.regions), max((0.0, *spans)),
                     height, area, width)


def clearly_better(one: PrintPose, other: PrintPose) -> bool:
    """Is it worth turning a part: it stands, and hangs less, or is much lower where neither hangs more?"""
    low = one.height <= LOWER * other.height and one.bridge <= other.bridge
    better = one.hanging < other.hanging - CLEARLY or (low and one.hanging <= other.hanging + SAME_MM2)
    return one.stands and (better or not other.stands)


def _rank(way: PrintPose) -> tuple[float, float, float, float]:
    """Sort by support, then bridges that not every printer spans, then height, then contact."""
    return (round(way.hanging), way.bridge, round(way.height, 1), -way.contact)


def _words(pose: str, planned: PrintPose, better: PrintPose | None, kept: str) -> str:
    if better is None:
        return (f"{pose} is confirmed: {planned.hanging:.0f} mm2 to support, {planned.height:.1f} mm tall, "
                f"{planned.contact:.0f} mm2 on the bed")
    other = (f"{name_of(better.down)} has {better.hanging:.0f} instead of {planned.hanging:.0f} mm2 to support, is "
             f"{better.height:.1f} instead of {planned.height:.1f} mm tall and has {better.contact:.0f} instead of "
             f"{planned.contact:.0f} mm2 on the bed")
    return f"{pose} is kept {kept}, though {other}" if kept else other


def name_of(down: tuple[float, float, float]) -> str:
    """Return the name of the pose with this way of the part's axes down, or its direction in words."""
    for name, matrix in POSES.items():
        if np.dot(np.array(matrix, dtype=float)[2], down) < -ALIKE:
            return name
    x, y, z = down
    return f"turned so that ({x:g}, {y:g}, {z:g}) of its own axes is down, it"
