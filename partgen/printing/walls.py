"""Walls and gaps measured by rays: across the plastic from surface to surface, and across the air between.

Rays are cast by embreex where its wheel exists (there is none for Linux on arm64) and by manifold3d elsewhere: a body
of 15,000 faces takes 0.1 s against 1.0. Both are asked only about short ways and answer alike.
"""

import numpy as np
from msgspec import Struct
from msgspec.structs import astuple
from trimesh import Trimesh

from partgen.formulas.plastic import RELIEF, least_thickness
from partgen.printing.posed import Posed
from partgen.solids.overlap import solid

try:
    from embreex.mesh_construction import TriangleMesh
    from embreex.rtcore_scene import EmbreeScene
except ImportError:
    EmbreeScene = None

REACH = 5.0             # mm; what is thicker reads as this
OPPOSED = 0.866         # cosine of 30 deg: two faces further from parallel are an edge, not a wall or a slot
HONEST = 1.0            # mm2 of surface that must be as thin: less is an edge that a ray grazed
WAYS = 8                # along a wall, both senses, to find how far it stands out: the worst is 2 % long
NOISE = 3               # decimals of a mm; single precision rays are off by a hundredth of the last one
NOTCH = 0.94            # cosine of 20 deg: an inner edge that turns less is a facet of something round
CELL = 1.5              # mm2 of surface a sample stands for at most
MOST = 2000             # samples a face
STEP_OFF = 1e-3         # mm from the surface before a ray starts, so that it does not meet its own face
_STRIDE = (0.7548776662466927, 0.5698402909980532)
"""Steps of the additive recurrence that fills a square evenly: 1/p and 1/p^2 for p^3 = p + 1."""


class Samples(Struct, frozen=True):
    """Points on a surface: `points` (n, 3) [mm], their faces' outward `normals` (n, 3), the `area` (n,) [mm2]
    each stands for."""

    points: np.ndarray
    normals: np.ndarray
    area: np.ndarray


class Wall(Struct, frozen=True):
    """A wall's thickness [mm], what it must be at `least` [mm], a place of its surface in the print pose, and whether
    it lies level there."""

    thick: float
    least: float
    place: np.ndarray
    lying: bool


def thinnest_wall(posed: Posed, engine: str | None = None) -> Wall:
    """Return the thinnest wall, at most REACH, of those that are thinner than they must be or than two lines.

    Rays go inward from the whole surface and from the bottoms of notches. What `least_thickness` lets be thinner than
    two lines, lying or standing out little, is passed over where it is thick enough.
    """
    printer = posed.printer
    whole, notches = samples(posed.mesh), _notches(posed.mesh, printer.line_width)
    spread = Samples(*map(np.concatenate, zip(astuple(whole), astuple(notches), strict=True)))
    across = _across(posed.mesh, spread, -1.0, engine)
    lying, least = np.abs(spread.normals[:, 2]) > OPPOSED, np.full(len(across), printer.thinnest_wall)
    thin = np.flatnonzero(across < printer.thinnest_wall - 10**-NOISE)
    least[thin] = least_thickness(printer.line_width, printer.layer, across[thin],
                                  _stands_out(posed.mesh, spread, across, thin, engine), lying[thin])
    across[thin[across[thin] >= least[thin] - 10**-NOISE]] = REACH
    at = _least(spread, across)
    return Wall(round(float(across[at]), NOISE), float(least[at]), spread.points[at], bool(lying[at]))


def narrowest_slot(posed: Posed, engine: str | None = None) -> tuple[float, np.ndarray]:
    """Return the narrowest slot [mm], at most REACH, and the place of one of its faces in the print pose."""
    spread = samples(posed.mesh)
    across = _across(posed.mesh, spread, 1.0, engine)
    at = _least(spread, across)
    return round(float(across[at]), NOISE), spread.points[at]


def _across(mesh: Trimesh, spread: Samples, sense: float, engine: str | None) -> np.ndarray:
    """Return how far it is along (1) or against (-1) the normals to a face that looks the other way [mm]."""
    far, met = nearest_hit(mesh, spread.points, sense * spread.normals, REACH, engine)
    return np.where(np.einsum("ij,ij->i", met, spread.normals) < -OPPOSED, far, REACH)


def _least(spread: Samples, across: np.ndarray) -> int:
    """Return which of `across` is the smallest once HONEST surface is as small."""
    order = np.argsort(across, kind="stable")
    return int(order[min(int(np.searchsorted(np.cumsum(spread.area[order]), HONEST)), len(order) - 1)])


def _stands_out(mesh: Trimesh, spread: Samples, across: np.ndarray, thin: np.ndarray, engine: str | None) -> np.ndarray:
    """Return how far each thin place is from its near edge [mm], where plastic is behind it; inf where none is."""
    normals = spread.normals[thin]
    inside = spread.points[thin] - across[thin, None] / 2 * normals
    helper = np.where(np.abs(normals[:, 2:]) > 0.7, (1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    along = np.cross(normals, helper)
    along /= np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-9)
    beside, out = np.cross(normals, along), np.full(len(thin), np.inf)
    for turn in np.arange(WAYS) * np.pi / WAYS:
        way = np.cos(turn) * along + np.sin(turn) * beside
        ends = np.array([nearest_hit(mesh, inside, sense * way, REACH, engine)[0] for sense in (1, -1)])
        near, far = ends.min(axis=0), ends.max(axis=0)
        out = np.where(far > 2 * np.maximum(RELIEF, across[thin]), np.minimum(out, near), out)
    return out


def _notches(mesh: Trimesh, width: float) -> Samples:
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
    edge, number = _counted(count)
    share = (number + 0.5) / count[edge]
    points = ends[edge, 0] + share[:, None] * (ends[edge, 1] - ends[edge, 0])
    return Samples(points, normals[edge], width * (length / count)[edge])


# Points on a surface, and rays from them

def samples(mesh: Trimesh) -> Samples:
    """Return the middle of every face [mm], and evenly spread points instead on a face larger than a cell."""
    count = np.clip(np.ceil(mesh.area_faces / CELL), 1, MOST).astype(int)
    face, number = _counted(count)
    u, v = ((number + 1) * stride % 1.0 for stride in _STRIDE)
    u, v = np.where(u + v > 1, 1 - u, u), np.where(u + v > 1, 1 - v, v)
    alone = (count == 1)[face]
    u, v = np.where(alone, 1 / 3, u), np.where(alone, 1 / 3, v)
    a, b, c = (mesh.triangles[face, k] for k in range(3))
    points = a + u[:, None] * (b - a) + v[:, None] * (c - a)
    return Samples(points, mesh.face_normals[face], (mesh.area_faces / count)[face])


def _counted(count: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return of every sample whose it is and its number there from 0, where each owner has `count` of them."""
    owner = np.repeat(np.arange(len(count)), count)
    return owner, np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count)


def nearest_hit(mesh: Trimesh, points: np.ndarray, directions: np.ndarray, reach: float,
                engine: str | None = None) -> tuple[np.ndarray, np.ndarray]:
    """Return how far from each point its ray meets the mesh, and the outward normal there.

    Args:
        mesh: closed mesh [mm].
        points: where the rays start (n, 3) [mm]; a thousandth along them nothing is met yet.
        directions: unit vectors (n, 3) [1].
        reach: rays end here [mm].
        engine: "embree" or "manifold"; left out, the fastest there is.

    Returns distances (n,) [mm], `reach` where nothing is met, and normals (n, 3), zero there.
    """
    caster = {"embree": _embree, "manifold": _manifold}[engine or ("embree" if EmbreeScene else "manifold")]
    if not len(points):
        return np.empty(0), np.empty((0, 3))
    far, normals = caster(mesh, points + STEP_OFF * directions, directions, reach - STEP_OFF)
    return np.minimum(far + STEP_OFF, reach), normals


def _embree(mesh: Trimesh, starts: np.ndarray, directions: np.ndarray, reach: float) -> tuple[np.ndarray, np.ndarray]:
    """Triangles go in as they are, moved to the origin: embree knows single precision only."""
    middle = mesh.bounds.mean(axis=0)
    scene = EmbreeScene()
    TriangleMesh(scene, (mesh.triangles - middle).astype(np.float32))
    found = scene.run((starts - middle).astype(np.float32), directions.astype(np.float32), query="INTERSECT", output=1)
    met = (found["primID"] >= 0) & (found["tfar"] < reach)
    normals = np.where(met[:, None], mesh.face_normals[found["primID"]], 0.0)
    return np.where(met, found["tfar"], reach), normals


def _manifold(mesh: Trimesh, starts: np.ndarray, directions: np.ndarray, reach: float) -> tuple[np.ndarray, np.ndarray]:
    """One short segment a ray: long ones meet every box in the tree of triangles and take far longer."""
    body = solid(mesh)
    far, normals = np.full(len(starts), reach), np.zeros((len(starts), 3))
    ends = starts + reach * directions
    for k, (start, end) in enumerate(zip(starts.tolist(), ends.tolist(), strict=True)):
        if hits := body.ray_cast(start, end):
            far[k], normals[k] = reach * hits[0].distance, hits[0].normal
    return far, normals
