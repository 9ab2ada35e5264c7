"""A solid of revolution as STEP, written without the CAD kernel: what wheels, magnets and screws are near enough."""

from functools import lru_cache
from itertools import pairwise
from math import atan2, hypot

from partgen.export.step_file import ORIGIN, numbered, opening, placement, triple, units, written
from partgen.export.step_text import real
from partgen.parts.record import Colour

Corner = tuple[float, float]
Rim = tuple[int, int]       # numbers of a corner's vertex and of the circle through it

_BREP, _SHELL, _UNITS, _STYLE = 15, 16, 17, 23      # which statements they are, between placement and faces


@lru_cache(maxsize=256)
def turned_step(name: str, profile: tuple[Corner, ...], colour: Colour) -> bytes:
    """Return a solid of revolution about z as STEP [mm], named and coloured (sRGB shares), as `part_step` does a solid.

    `profile` is its section's outline as (radius, height), anticlockwise with the radius to the right; one that starts
    and ends on the axis gives a solid, any other is closed on itself and gives a ring. Source: ISO 10303-42, as the
    kernel writes it.
    """
    on_axis = profile[0][0] == profile[-1][0] == 0
    statements = [*opening("ADVANCED_BREP_SHAPE_REPRESENTATION", (ORIGIN, _BREP), _UNITS), *placement(ORIGIN),
                  f"MANIFOLD_SOLID_BREP('',#{_SHELL})", "", *units(_UNITS), *_style(colour)]
    rims = {corner: _rim(statements, *corner) for corner in profile}
    sides = pairwise(profile if on_axis else (*profile, profile[0]))
    faces = [_face(statements, start, end, rims) for start, end in sides]
    statements[_SHELL - 1] = f"CLOSED_SHELL('',({','.join(f'#{face}' for face in faces)}))"
    return written(name, numbered(statements))


def _style(colour: Colour) -> list[str]:
    """Return the statements, from number `_STYLE`, that give the solid its colour."""
    lines = (f"MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION('',(#{{}}),#{_UNITS})",
             f"STYLED_ITEM('color',(#{{}}),#{_BREP})", "PRESENTATION_STYLE_ASSIGNMENT((#{}))",
             "SURFACE_STYLE_USAGE(.BOTH.,#{})", "SURFACE_SIDE_STYLE('',(#{}))", "SURFACE_STYLE_FILL_AREA(#{})",
             "FILL_AREA_STYLE('',(#{}))", "FILL_AREA_STYLE_COLOUR('',#{})",
             f"COLOUR_RGB('',{','.join(map(real, colour))})")
    return [line.format(number) for number, line in enumerate(lines, _STYLE + 1)]


def _add(statements: list[str], *more: str) -> int:
    """Append statements; return the first one's number."""
    statements.extend(more)
    return len(statements) - len(more) + 1


def _rim(statements: list[str], radius: float, height: float) -> Rim:
    """Add a corner of the section as a vertex and, off the axis, the circle on which it turns, a closed edge."""
    at = len(statements) + 1
    vertex = _add(statements, f"VERTEX_POINT('',#{at + 1})", f"CARTESIAN_POINT('',{triple((radius, 0.0, height))})")
    if not radius:
        return vertex, 0
    return vertex, _add(statements, f"EDGE_CURVE('',#{at},#{at},#{at + 3},.T.)",
                        f"CIRCLE('',#{at + 4},{real(radius)})", *placement(at + 4, (0.0, 0.0, height)))


def _face(statements: list[str], start: Corner, end: Corner, rims: dict[Corner, Rim]) -> int:
    """Add the face that one side of the section sweeps, its outside on the side's right; return its number."""
    first, last = ([(rims[corner][1], sense)] if corner[0] else [] for corner, sense in ((start, "T"), (end, "F")))
    if start[1] == end[1]:
        loops, outward = [loop for loop in (first, last) if loop], end[0] < start[0]
    else:
        seam = _seam(statements, start, end, rims)
        loops, outward = [[*first, (seam, "T"), *last, (seam, "F")]], end[1] > start[1]
    bounds = [_bound(statements, loop) for loop in loops]
    surface = _surface(statements, start, end)
    return _add(statements, f"ADVANCED_FACE('',({','.join(f'#{bound}' for bound in bounds)}),#{surface},"
                            f".{'T' if outward else 'F'}.)")


def _seam(statements: list[str], start: Corner, end: Corner, rims: dict[Corner, Rim]) -> int:
    """Add the straight edge between two corners, along which a face is joined to itself."""
    at, (across, along) = len(statements) + 1, (end[0] - start[0], end[1] - start[1])
    long = hypot(across, along)
    return _add(statements, f"EDGE_CURVE('',#{rims[start][0]},#{rims[end][0]},#{at + 1},.T.)",
                f"LINE('',#{at + 2},#{at + 3})", f"CARTESIAN_POINT('',{triple((start[0], 0.0, start[1]))})",
                f"VECTOR('',#{at + 4},1.)", f"DIRECTION('',{triple((across / long, 0.0, along / long))})")


def _bound(statements: list[str], edges: list[tuple[int, str]]) -> int:
    """Add a loop of edges, each along ("T") or against ("F") its own sense, as a face's bound."""
    at = _add(statements, *(f"ORIENTED_EDGE('',*,*,#{edge},.{sense}.)" for edge, sense in edges))
    loop = _add(statements, f"EDGE_LOOP('',({','.join(f'#{at + number}' for number in range(len(edges)))}))")
    return _add(statements, f"FACE_BOUND('',#{loop},.T.)")


def _surface(statements: list[str], start: Corner, end: Corner) -> int:
    """Add the plane, cylinder or cone of a side; the axis of a cone points where it widens."""
    at, (across, along) = len(statements) + 1, (end[0] - start[0], end[1] - start[1])
    if not along:
        kind = f"PLANE('',#{at + 1})"
    elif not across:
        kind = f"CYLINDRICAL_SURFACE('',#{at + 1},{real(start[0])})"
    else:
        kind = f"CONICAL_SURFACE('',#{at + 1},{real(start[0])},{real(atan2(abs(across), abs(along)))})"
    axis = (0.0, 0.0, -1.0 if across * along < 0 else 1.0)
    return _add(statements, kind, *placement(at + 1, (0.0, 0.0, start[1]), axis))
