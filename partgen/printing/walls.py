"""Walls and gaps measured by rays: across the plastic from surface to surface, and across the air between."""

import numpy as np

from partgen.finding import Finding
from partgen.printing.posed import Posed, spot
from partgen.printing.rays import Samples, nearest_hit, samples

REACH = 5.0             # mm; what is thicker reads as this
OPPOSED = 0.866         # cosine of 30 deg: two faces further from parallel are an edge, not a wall or a slot
HONEST = 1.0            # mm2 of surface that must be as thin: less is an edge that a ray grazed
FACETS = 0.04           # mm that flat facets cut off a curved wall, 0.02 on either side
RELIEF = 0.8            # mm: what stands out less, or no further than it is thick, is held by one line
NOISE = 3               # decimals of a mm; single precision rays are off by a hundredth of the last one
NOTCH = 0.94            # cosine of 20 deg: an inner edge that turns less is a facet of something round


def wall(posed: Posed) -> Finding:
    """Hold the thinnest wall against two lines; lettering and ribs that stand out little against one."""
    measured, place = thinnest_wall(posed)
    limit = posed.printer.thinnest_wall
    value = _curved(measured, limit)
    return posed.judge("wall", value, limit, "min", "mm",
                       f"{measured:.2f} mm of plastic at {spot(place)}: thicken it by "
                       f"{limit - measured:.2f} mm to two lines of {posed.printer.line_width:g} mm, or print "
                       f"lines of {measured / 2:.2f} mm")


def slot(posed: Posed) -> Finding:
    """Hold the narrowest slot, groove or engraved stroke against one line: anything less prints shut."""
    measured, place = narrowest_slot(posed)
    limit = posed.printer.line_width
    value = _curved(measured, limit)
    return posed.judge("slot", value, limit, "min", "mm",
                       f"{measured:.2f} mm of air at {spot(place)}: widen it by {limit - measured:.2f} mm "
                       "to one line, or close it")


def _curved(measured: float, limit: float) -> float:
    """Return the size [mm] that the facets' corners lie on, as far as it is needed to reach the limit."""
    return max(measured, min(measured + FACETS, limit))


def thinnest_wall(posed: Posed, engine: str | None = None):
    """Return the thinnest wall [mm], at most REACH, and the place of its surface in the print pose.

    Rays go inward from the whole surface and from the bottoms of notches. Low relief of a line or more is
    passed over.
    """
    whole, notches = samples(posed.mesh), _notches(posed.mesh, posed.printer.line_width)
    spread = Samples(*(np.concatenate(pair) for pair in zip(
        (whole.points, whole.normals, whole.area), (notches.points, notches.normals, notches.area))))
    across = _across(posed.mesh, spread, -1.0, engine)
    one, two = posed.printer.line_width, posed.printer.thinnest_wall
    thin = np.flatnonzero((across >= one - 10**-NOISE) & (across < two))
    across[thin[_is_relief(posed.mesh, spread, across, thin, engine)]] = REACH
    return _least(spread, across)


def narrowest_slot(posed: Posed, engine: str | None = None):
    """Return the narrowest slot [mm], at most REACH, and the place of one of its faces in the print pose."""
    spread = samples(posed.mesh)
    return _least(spread, _across(posed.mesh, spread, 1.0, engine))


def _across(mesh, spread, sense, engine):
    """Return how far it is along (1) or against (-1) the normals to a face that looks the other way [mm]."""
    far, met = nearest_hit(mesh, spread.points, sense * spread.normals, REACH, engine)
    return np.where(np.einsum("ij,ij->i", met, spread.normals) < -OPPOSED, far, REACH)


def _least(spread, across):
    """Return the smallest of `across` once HONEST surface is as small, and where."""
    order = np.argsort(across, kind="stable")
    enough = min(np.searchsorted(np.cumsum(spread.area[order]), HONEST), len(order) - 1)
    at = order[enough]
    return round(float(across[at]), NOISE), spread.points[at]


def _is_relief(mesh, spread, across, thin, engine):
    """Say of each thin place whether it is low on one side and stands on plastic on the other."""
    normals = spread.normals[thin]
    inside = spread.points[thin] - across[thin, None] / 2 * normals
    helper = np.where(np.abs(normals[:, 2:]) > 0.7, (1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    along = np.cross(normals, helper)
    along /= np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-9)
    relief, low = np.zeros(len(thin), dtype=bool), np.maximum(RELIEF, across[thin])
    for way in (along, np.cross(normals, along)):
        ahead, behind = (nearest_hit(mesh, inside, sense * way, REACH, engine)[0] for sense in (1, -1))
        relief |= (np.minimum(ahead, behind) <= low) & (np.maximum(ahead, behind) > 2 * low)
    return relief


def _notches(mesh, width) -> Samples:
    """Return points along the sharp inner edges of a mesh: no ray from a face starts at a notch's bottom."""
    pairs = mesh.face_adjacency
    turn = np.einsum("ij,ij->i", *(mesh.face_normals[pairs[:, k]] for k in (0, 1)))
    sharp = ~mesh.face_adjacency_convex & (turn < NOTCH)
    ends = mesh.vertices[mesh.face_adjacency_edges[sharp]]
    normals = mesh.face_normals[pairs[sharp]].sum(axis=1)
    size = np.linalg.norm(normals, axis=1)
    ends, normals = ends[size > 0.1], normals[size > 0.1] / size[size > 0.1, None]
    length = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    count = np.ceil(length).astype(int)
    edge = np.repeat(np.arange(len(count)), count)
    share = (np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count) + 0.5) / count[edge]
    points = ends[edge, 0] + share[:, None] * (ends[edge, 1] - ends[edge, 0])
    return Samples(points, normals[edge], width * (length / count)[edge])
