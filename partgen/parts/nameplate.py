"""The name plates of a body: tablets that stay flush in planked or panelled sides, sunk inside, with raised letters.

Letters are not fused on: a boolean over some hundred flanks doubles a body's time. Each tablet's ground, one plane
face of the body, is exchanged for a ground with holes and the letters that stand in them.
"""

from cadquery import Face, Location, Matrix, Solid, Vector
from OCP.BRep import BRep_Builder, BRep_Tool
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakeVertex,
    BRepBuilderAPI_MakeWire,
)
from OCP.gp import gp_Dir, gp_Pln, gp_Pnt, gp_Vec
from OCP.TopoDS import TopoDS, TopoDS_Shell, TopoDS_Solid

from partgen.lettering import raised
from partgen.parts.fittings import PAST, YAW
from partgen.parts.shapes import OVER, box_corners, tower
from partgen.plan.body.nameplate import CLIP

NEAR = 1e-3             # mm, mm2: the kernel's own figures are nearer
SLANT = 2 - 2**0.5      # of a corner's clip a side of 45 degrees longer for every millimetre outward


def tablets(plan):
    """Yield what the fields of planks or panels leave standing round the plates, sloping at 45 degrees."""
    for plate in _plates(plan):
        (left, right), (low, high) = plate.flush
        middle, size, deep = ((left + right) / 2, (low + high) / 2), (right - left, high - low), plan.groove + OVER
        tool = tower((-deep, _octagon(size, deep)), (PAST, _octagon(size, -PAST)))
        yield tool.moved(_before(plan, plate.wall, *middle))


def covered(plan, wall, start, end) -> bool:
    """Does a wall's plate take the whole of a field from `start` to `end` [mm] along it?"""
    return any(plate.wall == wall and all(low <= a and b <= high for (low, high), (a, b)
                                          in zip(plate.flush, ((start, end), plan.field_z))) for plate in _plates(plan))


def sinks(plan):
    """Yield the tools that sink the tablets' ground, edges sloping at 45 degrees."""
    for plate in _plates(plan):
        deep = plan.plate.relief
        tool = tower((-deep, _octagon(plan.plate.size, -deep)), (OVER, _octagon(plan.plate.size, OVER)))
        yield tool.moved(_before(plan, plate.wall, plate.along, plate.z))


def lettered(body: Solid, plan) -> Solid:
    """Return the body with letters on the ground of its sunk tablets."""
    plates = _plates(plan)
    if not plates:
        return body
    letters = [piece for placed in plan.plate.placed for piece in _pieces(*placed, plan.plate)]
    old, new = body.Faces(), []
    for plate in plates:
        place = _before(plan, plate.wall, plate.along, plate.z)
        ground = _ground(old, place, plan.plate)
        old = [face for face in old if not face.isSame(ground)]
        new.append(_holed(ground, place, plan.plate.relief, [foot.Moved(place.wrapped) for foot, _ in letters]))
        new += [face.Moved(place.wrapped) for _, faces in letters for face in faces]
    return _closed([*(face.wrapped for face in old), *new])


def _plates(plan):
    return plan.plate.plates if plan.plate else ()


def _octagon(size, by):
    """Return a tablet's corners, every side moved outward by `by` [mm]."""
    return box_corners(*(side + 2 * by for side in size), CLIP + SLANT * by)


def _before(plan, wall, along, z) -> Location:
    """Return where things drawn before a wall stand: along it, up, outward from its face."""
    turn, out, lengthwise, place = (Location((0, 0, 0), (0, 0, 1), YAW[wall]), Location((plan.width / 2, 0, 0)),
                                    Location((0, 0, 0), (1, 1, 1), 120), Location((along, z, 0)))
    return turn * out * lengthwise * place


# Letters, drawn as the tablet is seen: x to the right, y up, z = 0 at the wall's face

def _pieces(letter, x, y, plate):
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


def _level(z) -> gp_Pln:
    return gp_Pln(gp_Pnt(0, 0, z), gp_Dir(0, 0, 1))


def _ring(pair, at, deep):
    """Return one outline's wires at foot and face, and the flanks between them, whose edges they share."""
    rings = [[gp_Pnt(*map(float, point), z) for point in ring + at] for ring, z in zip(pair, (-deep, 0.0))]
    (feet, low), (faces, high) = map(_edges, rings)
    rise = [BRepBuilderAPI_MakeEdge(*ends).Edge() for ends in zip(feet, faces)]
    flanks = []
    for k, edges in enumerate(zip(low, rise, high, rise[-1:] + rise[:-1])):
        across = gp_Vec(rings[0][k - 1], rings[0][k]).Crossed(gp_Vec(rings[0][k], rings[1][k]))
        flanks.append(BRepBuilderAPI_MakeFace(gp_Pln(rings[0][k], gp_Dir(across)), _wire(edges)).Face())
    return _wire(low), _wire(high), flanks


def _edges(points):
    """Return vertices and, up to each of them, the edges of a closed polygon."""
    vertices = [BRepBuilderAPI_MakeVertex(point).Vertex() for point in points]
    return vertices, [BRepBuilderAPI_MakeEdge(*ends).Edge() for ends in zip(vertices[-1:] + vertices[:-1], vertices)]


def _wire(edges):
    made = BRepBuilderAPI_MakeWire()
    for edge in edges:
        made.Add(edge)
    return made.Wire()


# The exchange

def _ground(faces, place, plate) -> Face:
    """Return the face at the bottom of a sunk tablet."""
    middle = Vector(0, 0, -plate.relief).transform(Matrix(place.wrapped.Transformation()))
    area = _octagon_area(plate.size, plate.relief)
    found = [face for face in faces if face.geomType() == "PLANE" and abs(face.Area() - area) < NEAR
             and (face.Center() - middle).Length < NEAR]
    if len(found) != 1:
        raise ValueError(f"{len(found)} faces to put letters on")
    return found[0]


def _octagon_area(size, deep) -> float:
    (long, high), clip = (side - 2 * deep for side in size), CLIP - SLANT * deep
    return long * high - 2 * clip**2


def _holed(ground, place, deep, feet):
    """Return a tablet's ground with a hole under every piece of a letter."""
    plane = _level(-deep).Transformed(place.wrapped.Transformation())
    made = BRepBuilderAPI_MakeFace(plane, ground.outerWire().wrapped)
    for foot in feet:
        made.Add(TopoDS.Wire_s(foot.Reversed()))
    return made.Face()


def _closed(faces) -> Solid:
    """Return the solid within faces that share their edges."""
    builder, shell, solid = BRep_Builder(), TopoDS_Shell(), TopoDS_Solid()
    builder.MakeShell(shell)
    for face in faces:
        builder.Add(shell, face)
    shell.Closed(BRep_Tool.IsClosed_s(shell))
    builder.MakeSolid(solid)
    builder.Add(solid, shell)
    return Solid(solid)
