"""Small helpers that all parts are drawn with: plain shapes in, plain shapes out, no hidden state.

Lengths and heights in mm, angles in degrees. Bevels are put on simple shapes before they are fused or cut,
where the kernel does not fail; the tools of a cut reach `OVER` beyond the face they open.
"""

from cmath import phase
from collections.abc import Iterable, Sequence
from itertools import pairwise
from math import dist, sqrt, tan
from typing import TypeVar
from warnings import warn

from cadquery import Edge, Face, Location, Shape, Shell, Solid, Vector, Wire, func
from OCP import Standard, StdFail

S = TypeVar("S", bound=Shape)
Point = tuple[float, float]
Corner = tuple[float, ...]      # (x, y) or (x, y, radius) [mm]

OVER = 1.0
"""How far [mm] the tools of a cut reach beyond the face they open, so that no two faces coincide."""

TINY = 1e-6
KERNEL_FAULTS: tuple[type[Exception], ...] = (ValueError, RuntimeError, *(
    fault for room in (Standard, StdFail) for fault in vars(room).values()
    if isinstance(fault, type) and issubclass(fault, Exception)))
"""What cadquery and the kernel raise when a shape cannot be made: the kernel's faults have no class in common."""


class PartWarning(UserWarning):
    """An edge came out less round than drawn; the part is sound all the same."""


# Outlines in the plane

def outline(corners: Iterable[Corner]) -> Wire:
    """Return a closed wire through `corners`, each (x, y) or (x, y, radius) [mm].

    A corner with a radius is rounded by a true arc; where two arcs would meet on a side, both shrink.
    """
    edges, pieces = [], _pieces([(*corner, 0.0)[:3] for corner in corners])
    for (*_, here), (start, *arc) in zip([pieces[-1], *pieces], pieces, strict=False):
        if (start - here).Length > TINY:
            edges.append(Edge.makeLine(here, start))
            here = start
        if arc:
            edges.append(Edge.makeThreePointArc(here, *arc))
    return Wire.assembleEdges(edges)


def _pieces(corners: Sequence[Corner]) -> list[list[Vector]]:
    """Return each corner as its point alone, or as start, middle and end of the arc that rounds it."""
    points = [complex(x, y) for x, y, _ in corners]
    ways = [after - here for here, after in zip(points, [*points[1:], points[0]], strict=True)]
    turns = [abs(phase(way * ways[k - 1].conjugate())) for k, way in enumerate(ways)]
    wish = [corner[2] * tan(turn / 2) for corner, turn in zip(corners, turns, strict=True)]
    share = [min(1.0, abs(way) / max(a + b, TINY)) for way, a, b in zip(ways, wish, wish[1:] + wish[:1], strict=True)]
    return [[Vector(point.real, point.imag) for point in
             _arc(points[k], -ways[k - 1], ways[k], turns[k], wish[k] * min(share[k - 1], share[k]))]
            for k in range(len(points))]


def _arc(here: complex, back: complex, ahead: complex, turn: float, length: float) -> tuple[complex, ...]:
    """Return start, middle and end of the arc that touches both sides `length` [mm] from the corner."""
    if length < 1e-3 or turn < 1e-3:
        return (here,)
    u, v = back / abs(back), ahead / abs(ahead)
    return here + length * u, here + length * tan(turn / 4) / abs(u + v) * (u + v), here + length * v


def rectangle(length: float, width: float, radius: float = 0.0, x: float = 0.0, y: float = 0.0) -> Wire:
    """Return a rectangle about (x, y) [mm], its corners rounded by `radius` [mm]."""
    return outline((*corner, radius) for corner in box_corners(length, width, x=x, y=y))


# Solids

def prism(base: Wire | Iterable[Corner], z0: float, z1: float, bevel_bottom: float = 0.0, bevel_top: float = 0.0,
          holes: Iterable[Wire | Iterable[Corner]] = ()) -> Solid:
    """Return the solid between heights z0 and z1 [mm] over `base`, a wire or corners as for `outline`.

    `holes` are wires or corners too. Bevels [mm] at 45 degrees run round the outer edges of both ends.
    """
    outer, *inner = (ring if isinstance(ring, Wire) else outline(ring) for ring in (base, *holes))
    body = moved(Solid.extrudeLinear(Face.makeFromWires(outer, inner), Vector(0, 0, z1 - z0)), z=z0)
    for z, size in ((z0, bevel_bottom), (z1, bevel_top)):
        if size > 0:
            cap = next(face for face in body.Faces() if abs(face.Center().z - z) < TINY)
            body = chamfer(body, cap.outerWire().Edges(), size, "bevel")
    return body


def rounded_box(length: float, width: float, z0: float, z1: float, radius: float, x: float = 0.0,
                y: float = 0.0, bevel_bottom: float = 0.0, bevel_top: float = 0.0) -> Solid:
    """Return a box about (x, y) from z0 to z1 [mm], upright edges rounded, end edges bevelled [mm]."""
    return prism(rectangle(length, width, radius, x, y), z0, z1, bevel_bottom, bevel_top)


def mouth(length: float, width: float, face: float, by: float, corner: float, x: float = 0.0, y: float = 0.0,
          sunk: float = 0.0, down: bool = False) -> Solid:
    """Return what widens an opening about (x, y) by `by` [mm] at 45 degrees where it meets a face at height `face`.

    It widens upwards or `down`; it begins `sunk` [mm] deeper in the opening where faces would coincide.
    """
    near, far, deep = by + sunk, 2 * OVER, by + OVER
    z0, z1 = (face - far, face + near) if down else (face - near, face + far)
    return rounded_box(length + 2 * deep, width + 2 * deep, z0, z1, corner + deep, x, y,
                       **{"bevel_top" if down else "bevel_bottom": deep + sunk})


def cylinder(diameter: float, z0: float, z1: float, x: float = 0.0, y: float = 0.0) -> Solid:
    """Return an upright cylinder about (x, y) from z0 to z1 [mm]."""
    return Solid.makeCylinder(diameter / 2, z1 - z0, Vector(x, y, z0))


def cone(d0: float, d1: float, z0: float, z1: float, x: float = 0.0, y: float = 0.0) -> Solid:
    """Return an upright truncated cone about (x, y): diameter d0 at z0, d1 at z1 [mm]."""
    return Solid.makeCone(d0 / 2, d1 / 2, z1 - z0, Vector(x, y, z0))


def turned(profile: Sequence[Point], x: float = 0.0, y: float = 0.0) -> Solid:
    """Return the solid of revolution about (x, y) whose (height, diameter) pairs [mm] run upwards."""
    points = [(0.0, profile[0][0]), *((d / 2, z) for z, d in profile), (0.0, profile[-1][0])]
    kept = [points[0], *(here for before, here in pairwise(points) if dist(here, before) > TINY)]
    return moved(turned_part(kept, 0.0, 360.0), x, y)


def lathe(section: Iterable[Corner]) -> Solid:
    """Return what a closed section, corners (radius, height[, rounding]) [mm], sweeps round the z axis."""
    half = Face.makeFromWires(crosswise(outline(section)), [])
    return Solid.revolve(half, 360.0, Vector(0, 0, 0), Vector(0, 0, 1))


def turned_part(section: Iterable[Point], start: float, end: float) -> Solid:
    """Return what (radius, height) corners [mm] sweep about the z axis from angle `start` to `end` [deg]."""
    face = Face.makeFromWires(Wire.makePolygon([Vector(r, 0, z) for r, z in section], close=True), [])
    swept = Solid.revolve(face, end - start, Vector(0, 0, 0), Vector(0, 0, 1))
    return yawed(swept, start)


def core(diameter: float, mouth: Point, depth: float, face: float = 0.0, x: float = 0.0, y: float = 0.0,
         up: bool = False) -> Solid:
    """Return a screw's core about (x, y), `depth` [mm] down from a face at height `face`, or `up` from it; `mouth` is
    width and depth of the cone there."""
    wide, deep = mouth
    past = wide + 2 * OVER * (wide - diameter) / 2 / deep
    profile = [(-depth, diameter), (-deep, diameter), (0.0, wide), (OVER, past)]
    return turned([(face - z, d) for z, d in reversed(profile)] if up else [(face + z, d) for z, d in profile], x, y)


def tower(*sections: tuple[float, Sequence[Point]]) -> Solid:
    """Return the solid with flat sides through `sections`, each (z, corners (x, y)) [mm] from the bottom up.

    All sections have the same number of corners, counter-clockwise, their sides parallel.
    """
    rings = [[Vector(x, y, z) for x, y in corners] for z, corners in sections]
    walls = [[low[k - 1], low[k], high[k], high[k - 1]] for low, high in pairwise(rings) for k in range(len(low))]
    sides = (Wire.makePolygon(ring, close=True) for ring in (rings[0], *walls, rings[-1]))
    return Solid.makeSolid(Shell.makeShell([Face.makeFromWires(side, []) for side in sides]))


def box_corners(length: float, width: float, clip: float = 0.0, x: float = 0.0, y: float = 0.0) -> list[Point]:
    """Return a rectangle's corners about (x, y) [mm] for `tower`, each cut off by `clip` [mm] if over 0."""
    a, b, clip = length / 2, width / 2, max(clip, 0.0)
    around = [(a, clip - b), (a, b - clip), (a - clip, b), (clip - a, b),
              (-a, b - clip), (-a, clip - b), (clip - a, -b), (a - clip, -b)]
    return [*dict.fromkeys((x + u, y + v) for u, v in around)]


def drop(diameter: float, z0: float, z1: float) -> Solid:
    """Return a round bar about the z axis with a 45 degree roof towards +y, so that a hole bridges little."""
    r, k = diameter / 2, diameter / 2 / sqrt(2)
    roof = [Vector(k, k), Vector((sqrt(2) - 1) * r, r), Vector((1 - sqrt(2)) * r, r), Vector(-k, k)]
    edges = [Edge.makeLine(a, b) for a, b in pairwise(roof)]
    edges.append(Edge.makeThreePointArc(roof[-1], Vector(0, -r), roof[0]))
    return prism(Wire.assembleEdges(edges), z0, z1)


# Placing

def moved(shape: S, x: float = 0.0, y: float = 0.0, z: float = 0.0) -> S:
    """Return `shape` shifted by (x, y, z) [mm]."""
    return shape.moved(Location((x, y, z)))


def yawed(shape: S, yaw: float) -> S:
    """Return `shape` turned by `yaw` [deg] about the z axis."""
    return shape.moved(Location((0, 0, 0), (0, 0, 1), yaw))


def lengthwise(shape: S) -> S:
    """Turn a prism drawn in (y, z) and raised along x into place: its axes x, y, z become y, z, x."""
    return shape.moved(Location((0, 0, 0), (1, 1, 1), 120))


def crosswise(shape: S) -> S:
    """Turn a prism drawn in (x, z) and raised along -y into place: its axes x, y, z become x, z, -y."""
    return shape.moved(Location((0, 0, 0), (1, 0, 0), 90))


# Joining

def fuse(first: Shape, *others: Shape) -> Shape:
    """Return all shapes as one, seams between faces of one surface removed."""
    return _single(func.clean(func.fuse(first, *others))) if others else first


def joined(first: Shape, *others: Shape) -> Shape:
    """Return all shapes as one but keep seams: taking them out beside free-form faces can crack a mesh."""
    return _single(first.fuse(*others)) if others else first


def cut(body: Shape, *tools: Shape) -> Shape:
    """Return `body` less all `tools`."""
    return _single(body.cut(*tools)) if tools else body


def intersect(first: Shape, second: Shape) -> Shape:
    """Return what both shapes share."""
    return _single(func.intersect(first, second))


def _single(shape: Shape) -> Shape:
    """Return the one solid of a compound as a Solid; anything else unchanged."""
    solids = shape.Solids()
    return solids[0] if len(solids) == 1 else shape


# Edges

def edges_at(shape: Shape, z: float, tolerance: float = 1e-4) -> list[Edge]:
    """Return the edges that lie wholly at height `z` [mm]."""
    boxes = ((edge, edge.BoundingBox()) for edge in shape.Edges())
    return [edge for edge, box in boxes if abs(box.zmin - z) < tolerance and abs(box.zmax - z) < tolerance]


def chamfer(shape: Solid, edges: Iterable[Edge], size: float, what: str) -> Solid:
    """Return `shape` with `edges` chamfered by `size` [mm]; where that fails by half of it, then not at all.

    Whatever falls short is told by a PartWarning that names `what`.
    """
    edges = list(edges)
    for tried in (size, size / 2):
        try:
            soft = shape.chamfer(tried, None, edges)
        except KERNEL_FAULTS:
            continue
        if soft.isValid() and len(soft.Solids()) == 1:
            if tried < size:
                warn(f"{what}: chamfer of {tried:.2f} mm where {size:.2f} mm failed", PartWarning, stacklevel=2)
            return soft.Solids()[0]
    warn(f"{what}: edges left sharp, chamfer of {size:.2f} mm failed", PartWarning, stacklevel=2)
    return shape
