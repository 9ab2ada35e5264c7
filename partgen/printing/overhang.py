"""What of a posed mesh is printed over air: faces that do not carry themselves, what bridges, and what hangs.

Faces that lean out further than the limit are gathered into regions. A region is carried where the surface
goes on downward at its edge, or where it begins on the bed. Straight lines laid across it from one carried
edge to another are bridges; in whichever direction fewest are missing the printer would lay them. What lies
on no such line, further than one printed line from every carried edge, hangs.
"""

from math import atan2, inf, pi

import numpy as np
from msgspec import Struct
from shapely import STRtree, linestrings
from shapely import points as as_points
from trimesh import Trimesh
from trimesh.graph import connected_component_labels

Array = np.ndarray

SEEN = 0.5              # mm2 of surface that must lean as far
LEAST = 0.3             # mm2 that may hang: the corner of a region that no sampled line meets
LINE_STEP = 0.25        # mm between the lines laid across a small region
LINES = 120             # most lines laid across a region
ALONG = 11              # places looked at along each; odd, so that its middle is among them
TURNS = 12              # directions tried besides those square to carried edges
LEVEL = 0.01            # mm: vertices joined by edges that rise less are one level place


class Region(Struct, frozen=True):
    """A region that does not carry itself: steepest face [deg from upright], `hanging` area [mm2] that no
    bridge and no neighbour carries, longest bridge `span` [mm], and where in the print pose the worst is."""

    angle: float
    hanging: float
    span: float
    place: tuple[float, float, float]


def lean(mesh: Trimesh) -> Array:
    """Return how far each face leans out [deg from upright]: 90 a ceiling, 0 a wall, negative looks up."""
    return np.degrees(np.arcsin(np.clip(-mesh.face_normals[:, 2], -1.0, 1.0)))


def steepest(mesh: Trimesh, limit: float, layer: float) -> float:
    """Return the steepest lean [deg from upright] of what carries itself, the bed's face left out; as `regions`."""
    leans, off_bed = lean(mesh), mesh.triangles[:, :, 2].max(axis=1) > layer
    own = np.flatnonzero(off_bed & (leans <= limit))
    order = own[np.argsort(-leans[own], kind="stable")]
    enough = np.searchsorted(np.cumsum(mesh.area_faces[order]), SEEN)
    return float(max(0.0, leans[order[enough]])) if enough < len(order) else 0.0


def regions(mesh: Trimesh, limit: float, layer: float, line: float) -> tuple[Region, ...]:
    """Return the regions of a mesh on z = 0 that lean out more than `limit` [deg].

    Args:
        mesh: posed mesh [mm].
        limit: steepest face that carries itself [deg from upright].
        layer: first layer's height [mm]: what ends below it lies on the bed.
        line: width of one printed line [mm]: so far a ledge may reach out.
    """
    leans = lean(mesh)
    steep = (leans > limit) & (mesh.triangles[:, :, 2].max(axis=1) > layer)
    if not steep.any():
        return _tips(mesh, layer)
    pairs = mesh.face_adjacency
    labels = connected_component_labels(pairs[steep[pairs].all(axis=1)], node_count=len(mesh.faces))
    edges, carried, owner = _edges(mesh, steep, labels, layer)
    found = []
    for label in np.unique(labels[steep]):
        faces, own = np.flatnonzero(steep & (labels == label)), owner == label
        found.append(_region(mesh, faces, leans, edges[own], carried[own], line))
    return (*found, *_tips(mesh, layer))


def _edges(mesh: Trimesh, steep: Array, labels: Array, layer: float) -> tuple[Array, Array, Array]:
    """Return ends (n, 2, 3) [mm] of all regions' edges, whether each is carried, and whose it is."""
    pairs = mesh.face_adjacency
    rim = steep[pairs[:, 0]] != steep[pairs[:, 1]]
    other = np.where(steep[pairs[rim, 0]], 1, 0)
    rows = np.arange(rim.sum())
    ends = mesh.vertices[mesh.face_adjacency_edges[rim]]
    beyond = mesh.vertices[mesh.face_adjacency_unshared[rim][rows, other]]
    along = ends[:, 1] - ends[:, 0]
    away = beyond - ends[:, 0]
    square = np.einsum("ij,ij->i", along, along)
    away -= (np.einsum("ij,ij->i", away, along) / np.maximum(square, 1e-12))[:, None] * along
    down = away[:, 2] < -1e-3 * np.linalg.norm(away, axis=1)
    return ends, down | (ends[:, :, 2].max(axis=1) <= layer), labels[pairs[rim][rows, 1 - other]]


def _region(mesh: Trimesh, faces: Array, leans: Array, edges: Array, carried: Array, line: float) -> Region:
    """Lay lines across one region in several directions and keep the one that leaves least hanging."""
    angle, middles = float(leans[faces].max()), mesh.triangles_center[faces]
    lowest = middles[np.argmin(middles[:, 2])]
    if not carried.any():
        return Region(angle, float(mesh.area_faces[faces].sum()), 0.0, tuple(lowest))
    flat, stays = edges[:, :, :2], edges[carried][:, :, :2]
    hanging, span, place = _best_laid(flat, carried, stays, line)
    x, y = place if place is not None else lowest[:2]
    near = np.argmin(np.hypot(*(middles[:, :2] - (x, y)).T))
    return Region(angle, hanging if hanging > LEAST else 0.0, span, (x, y, middles[near, 2]))


def _best_laid(edges: Array, carried: Array, stays: Array, line: float) -> tuple[float, float, Array | None]:
    """Return hanging area, longest bridge and worst place of the best direction, or of the first than which none can
    be better."""
    nearest = STRtree(linestrings(stays))
    best: tuple[float, float, Array | None] = (inf, inf, None)
    for turn in _turns(stays):
        hanging, span, place, least = _laid(edges, carried, nearest, turn, line)
        if _rank(hanging, span) < _rank(*best[:2]):
            best = hanging, span, place
        if hanging <= LEAST and span <= least:
            break
    return best


def _rank(hanging: float, span: float) -> tuple[float, float]:
    return round(hanging, 1), span


def _turns(stays: Array) -> list[float]:
    """Return directions [rad] to lay lines in: square to the longest carried edges, and evenly all round."""
    way = stays[:, 1] - stays[:, 0]
    size = np.hypot(*way.T)
    longest = way[np.argsort(-size, kind="stable")[:40]]
    square = [round((atan2(y, x) + pi / 2) % pi, 5) for x, y in longest]
    even = [k * pi / TURNS for k in range(TURNS)]
    return [*dict.fromkeys(square)][:8] + even


def _laid(edges: Array, carried: Array, nearest: STRtree, turn: float,
          line: float) -> tuple[float, float, Array | None, float]:
    """Lay lines in direction `turn` [rad]; return hanging area [mm2], longest bridge [mm], the worst place,
    and what the longest bridge [mm] comes to in the best direction at least.

    A bridge counts no longer than twice the way to the nearest carried edge, from between two lines at
    most: along a wall it leans on the wall.
    """
    ahead, aside = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
    across = edges @ aside
    low, high = across.min(), across.max()
    count = int(np.clip(np.ceil((high - low) / LINE_STEP), 3, LINES))
    rows = low + (np.arange(count) + 0.5) * (high - low) / count
    number, start, end, held = _chords(edges @ ahead, across, carried, rows)
    if not len(number):
        return 0.0, 0.0, None, 0.0
    share = (np.arange(ALONG) + 0.5) / ALONG
    steps = start[:, None] + (end - start)[:, None] * share
    places = steps[..., None] * ahead + rows[number][:, None, None] * aside
    _, reach = nearest.query_nearest(as_points(places.reshape(-1, 2)), return_distance=True, all_matches=False)
    reach = reach.reshape(steps.shape)
    loose = (reach > line) & ~held[:, None]
    apart = (high - low) / count
    area = (end - start) / ALONG * apart
    span = np.where(held, np.minimum(end - start, 2 * reach.max(axis=1) + apart), 0.0)
    worst = np.unravel_index(np.argmax(np.where(loose, reach, -1.0)), reach.shape) if loose.any() \
        else (int(np.argmax(span)), ALONG // 2)
    return float((loose * area[:, None]).sum()), float(span.max()), places[worst], 2 * reach.max() + apart


def _chords(x: Array, y: Array, carried: Array, rows: Array) -> tuple[Array, Array, Array, Array]:
    """Return each stretch of a line in a region: line number, start, end [mm], whether both ends hold."""
    cross = (y[:, 0] > rows[:, None]) != (y[:, 1] > rows[:, None])
    number, edge = np.nonzero(cross)
    at = x[edge, 0] + (rows[number] - y[edge, 0]) / (y[edge, 1] - y[edge, 0]) * (x[edge, 1] - x[edge, 0])
    order = np.lexsort((at, number))
    number, at, held = number[order], at[order], carried[edge[order]]
    number, start, end = number[0:-1:2], at[0:-1:2], at[1::2]
    return number, start, end, held[0:-1:2] & held[1::2]


def _tips(mesh: Trimesh, layer: float) -> tuple[Region, ...]:
    """Return every place that begins in mid-air: level with or below all its neighbours, looking down."""
    edges, z = mesh.edges_unique, mesh.vertices[:, 2]
    rise = z[edges[:, 1]] - z[edges[:, 0]]
    labels = connected_component_labels(edges[np.abs(rise) <= LEVEL], node_count=len(z))
    carried = np.zeros(labels.max() + 1, dtype=bool)
    for held in (edges[rise < -LEVEL, 0], edges[rise > LEVEL, 1], z <= layer):
        carried[labels[held]] = True
    looks_down = np.zeros_like(carried)
    looks_down[labels[mesh.faces[mesh.face_normals[:, 2] < -0.1].ravel()]] = True
    tips = np.flatnonzero(~carried & looks_down)
    firsts = (int(np.argmax(labels == tip)) for tip in tips)
    return tuple(Region(90.0, LEAST, 0.0, tuple(mesh.vertices[first])) for first in firsts)
