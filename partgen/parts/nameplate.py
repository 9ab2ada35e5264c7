"""The name plates of a body: tablets that stay flush in planked or panelled sides, sunk inside, with raised letters or
for a plate that is printed apart.

Letters are not fused on: a boolean over some hundred flanks doubles a body's time. Each tablet's ground, one plane
face of the body, is exchanged for a ground with holes and the letters that stand in them.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

import numpy as np
from cadquery import Face, Location, Matrix, Shape, Solid, Vector
from OCP.BRep import BRep_Builder, BRep_Tool
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakeVertex,
    BRepBuilderAPI_MakeWire,
)
from OCP.gp import gp_Dir, gp_Pln, gp_Pnt, gp_Vec
from OCP.TopoDS import TopoDS, TopoDS_Edge, TopoDS_Face, TopoDS_Shell, TopoDS_Solid, TopoDS_Vertex, TopoDS_Wire

from partgen.lettering import raised
from partgen.parts.openings import BEYOND, YAW
from partgen.parts.shapes import OVER, Point, box_corners, tower
from partgen.plan.body.body import BodyPlan
from partgen.plan.body.nameplate import CLIP, Nameplate, PlatePlan, Tablet
from partgen.plan.fits import FOOT

NEAR = 1e-3             # mm, mm2: the kernel's own figures are nearer
SLANT = 2 - 2**0.5      # of a corner's clip a side of 45 degrees longer for every millimetre outward


def tablets(plan: BodyPlan) -> Iterator[Shape]:
    """Yield what the fields of planks or panels leave standing round the plates, sloping at 45 degrees."""
    for plate in _plates(plan):
        (left, right), (low, high) = plate.flush
        middle, size, deep = ((left + right) / 2, (low + high) / 2), (right - left, high - low), plan.groove + OVER
        tool = tower((-deep, _octagon(size, deep)), (BEYOND, _octagon(size, -BEYOND)))
        yield tool.moved(_before(plan, plate.wall, *middle))


def covered(plan: BodyPlan, wall: str, start: float, end: float) -> bool:
    """Does a wall's plate take the whole of a field from `start` to `end` [mm] along it?"""
    field = (start, end), plan.field_z
    return any(plate.wall == wall and all(low <= a and b <= high for (low, high), (a, b)
                                          in zip(plate.flush, field, strict=True)) for plate in _plates(plan))


def sinks(plan: BodyPlan) -> Iterator[Shape]:
    """Yield the tools that sink the tablets' ground, edges sloping at 45 degrees."""
    if plan.nameplate:
        size, deep, ground = plan.nameplate.size, plan.nameplate.deep, plan.nameplate.outward
        tool = tower((-deep, _octagon(size, ground)), (OVER, _octagon(size, ground + deep + OVER)))
        yield from (tool.moved(_before(plan, plate.wall, plate.along, plate.z)) for plate in plan.nameplate.tablets)


def lettered(body: Shape, plan: BodyPlan) -> Shape:
    """Return the body with letters on the ground of its sunk tablets."""
    plate = plan.nameplate
    if plate is None or not plate.tablets or plate.layer:
        return body
    return _lettered(body, plate, [_before(plan, one.wall, one.along, one.z) for one in plate.tablets])


def name_plate(plan: PlatePlan) -> Shape:
    """Return the name plate that is printed apart, in the frame its plan tells of."""
    plate = plan.plate
    (_, high), back, foot = plate.size, -plate.thickness, min(FOOT, plan.change[1] / 2)
    base = tower((back, _octagon(plate.size, -foot)), (back + foot, _octagon(plate.size, 0.0)),
                 (-plate.relief, _octagon(plate.size, 0.0)))
    standing = Location((0, 0, 0), (0, 0, 1), YAW["left"]) * Location((0, 0, 0), (1, 1, 1), 120)
    place = standing * Location((0, high / 2, plate.thickness))
    return _lettered(base.moved(place), plate, [place])


def _lettered(shape: Shape, plate: Nameplate, places: Iterable[Location]) -> Shape:
    """Return a shape with the plate's letters on its ground at every place."""
    letters = [piece for placed in plate.placed for piece in _pieces(*placed, plate)]
    old, new = shape.Faces(), []
    for place in places:
        ground = _ground(old, place, plate)
        old = [face for face in old if not face.isSame(ground)]
        new.append(_holed(ground, place, plate.relief, [foot.Moved(place.wrapped) for foot, _ in letters]))
        new += [face.Moved(place.wrapped) for _, faces in letters for face in faces]
    return _closed([*(face.wrapped for face in old), *new])


def _plates(plan: BodyPlan) -> tuple[Tablet, ...]:
    return plan.nameplate.tablets if plan.nameplate else ()


def _octagon(size: Point, by: float) -> list[Point]:
    """Return a tablet's corners, every side moved outward by `by` [mm]."""
    return box_corners(size[0] + 2 * by, size[1] + 2 * by, CLIP + SLANT * by)


def _before(plan: BodyPlan, wall: str, along: float, z: float) -> Location:
    """Return where things drawn before a wall stand: along it, up, outward from its face."""
    turn, out, lengthwise, place = (Location((0, 0, 0), (0, 0, 1), YAW[wall]), Location((plan.width / 2, 0, 0)),
                                    Location((0, 0, 0), (1, 1, 1), 120), Location((along, z, 0)))
    return turn * out * lengthwise * place


# Letters, drawn as the tablet is seen: x to the right, y up, z = 0 at the wall's face

def _pieces(letter: str, x: float, y: float, plate: Nameplate) -> Iterator[tuple[TopoDS_Wire, list[TopoDS_Face]]]:
    """Yield (foot, faces) of each connected piece of a letter at (x, y) [mm]: flanks, face and counters' ground."""
    deep = plate.relief
    for block in raised(letter, plate.letter, deep):
        (foot, top, flanks), *counters = (_ring(pair, (x, y), deep) for pair in (block.outline, *block.counters))
        face = BRepBuilderAPI_MakeFace(_level(0.0), top)
        for _, mouth, inner in counters:
            face.Add(mouth)
            flanks += inner
        pits = [BRepBuilderAPI_MakeFace(_level(-deep), pit).Face() for pit, *_ in counters]
        yield foot, [*flanks, face.Face(), *pits]


def _level(z: float) -> gp_Pln:
    return gp_Pln(gp_Pnt(0, 0, z), gp_Dir(0, 0, 1))


def _ring(pair: tuple[np.ndarray, np.ndarray], at: Point,
          deep: float) -> tuple[TopoDS_Wire, TopoDS_Wire, list[TopoDS_Face]]:
    """Return one outline's wires at foot and face, and the flanks between them, whose edges they share."""
    rings = [[gp_Pnt(*map(float, point), z) for point in ring + at] for ring, z in zip(pair, (-deep, 0.0), strict=True)]
    (feet, low), (faces, high) = map(_edges, rings)
    rise = [BRepBuilderAPI_MakeEdge(*ends).Edge() for ends in zip(feet, faces, strict=True)]
    flanks = []
    for k, edges in enumerate(zip(low, rise, high, [rise[-1], *rise[:-1]], strict=True)):
        across = gp_Vec(rings[0][k - 1], rings[0][k]).Crossed(gp_Vec(rings[0][k], rings[1][k]))
        flanks.append(BRepBuilderAPI_MakeFace(gp_Pln(rings[0][k], gp_Dir(across)), _wire(edges)).Face())
    return _wire(low), _wire(high), flanks


def _edges(points: Sequence[gp_Pnt]) -> tuple[list[TopoDS_Vertex], list[TopoDS_Edge]]:
    """Return vertices and, up to each of them, the edges of a closed polygon."""
    vertices = [BRepBuilderAPI_MakeVertex(point).Vertex() for point in points]
    return vertices, [BRepBuilderAPI_MakeEdge(*ends).Edge() for ends in pairwise([vertices[-1], *vertices])]


def _wire(edges: Iterable[TopoDS_Edge]) -> TopoDS_Wire:
    made = BRepBuilderAPI_MakeWire()
    for edge in edges:
        made.Add(edge)
    return made.Wire()


# The exchange

def _ground(faces: Sequence[Face], place: Location, plate: Nameplate) -> Face:
    """Return the face at the bottom of a sunk tablet, or on top of a plate's base."""
    inset = 0.0 if plate.layer else plate.relief
    middle = Vector(0, 0, -plate.relief).transform(Matrix(place.wrapped.Transformation()))
    (long, high), clip = (side - 2 * inset for side in plate.size), CLIP - SLANT * inset
    area = long * high - 2 * clip**2
    found = [face for face in faces if face.geomType() == "PLANE" and abs(face.Area() - area) < NEAR
             and (face.Center() - middle).Length < NEAR]
    if len(found) != 1:
        raise ValueError(f"{len(found)} faces to put letters on")
    return found[0]


def _holed(ground: Face, place: Location, deep: float, feet: Iterable[TopoDS_Wire]) -> TopoDS_Face:
    """Return a tablet's ground with a hole under every piece of a letter."""
    plane = _level(-deep).Transformed(place.wrapped.Transformation())
    made = BRepBuilderAPI_MakeFace(plane, ground.outerWire().wrapped)
    for foot in feet:
        made.Add(TopoDS.Wire_s(foot.Reversed()))
    return made.Face()


def _closed(faces: Iterable[TopoDS_Face]) -> Shape:
    """Return the solid within faces that share their edges."""
    builder, shell, solid = BRep_Builder(), TopoDS_Shell(), TopoDS_Solid()
    builder.MakeShell(shell)
    for face in faces:
        builder.Add(shell, face)
    shell.Closed(BRep_Tool.IsClosed_s(shell))
    builder.MakeSolid(solid)
    builder.Add(solid, shell)
    return Solid(solid)
