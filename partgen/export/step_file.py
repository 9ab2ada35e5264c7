"""What every STEP file of one product has round its geometry: header, product, placements, units.

As the kernel writes it, so that its files and ours can be put together: AP214 (ISO 10303-214), one product whose
statements begin as in `opening`.
"""

from collections.abc import Iterable, Sequence

from partgen.export.step_text import file_name, named, real

Point = tuple[float, float, float]

DEFINITION, SHAPE, ORIGIN = 5, 10, 11
"""Numbers in such a file of the product's definition, its representation and that one's placement."""
SHARED = 2              # its first statements, protocol and context, are the same in every file

_HEAD = """ISO-10303-21;
HEADER;
FILE_DESCRIPTION(('Open CASCADE Model'),'2;1');
{file}
FILE_SCHEMA(('AUTOMOTIVE_DESIGN {{ 1 0 10303 214 1 1 1 1 }}'));
ENDSEC;
DATA;
"""
_TAIL = "ENDSEC;\nEND-ISO-10303-21;\n"


def written(name: str, lines: str) -> bytes:
    """Return a file of a product called `name` with those numbered statements."""
    return named((_HEAD.format(file=file_name(name)) + lines + _TAIL).encode("ascii"), name)


def numbered(statements: Iterable[str], first: int = 1) -> str:
    """Return statements numbered from `first`, one a line."""
    return "".join(f"#{number} = {statement};\n" for number, statement in enumerate(statements, first))


def lines_of(data: bytes) -> str:
    """Return a file's numbered statements, one a line."""
    return data.decode("ascii").partition("DATA;\n")[2].removesuffix(_TAIL)


def opening(representation: str, items: Sequence[int], units_at: int) -> list[str]:
    """Return a file's first statements: its product, not named yet, and its representation, of that kind and with those
    items and units [statements' numbers]."""
    return ["APPLICATION_PROTOCOL_DEFINITION('international standard','automotive_design',2000,#2)",
            "APPLICATION_CONTEXT('core data for automotive mechanical design processes')",
            "SHAPE_DEFINITION_REPRESENTATION(#4,#10)",
            "PRODUCT_DEFINITION_SHAPE('','',#5)",
            "PRODUCT_DEFINITION('design','',#6,#9)",
            "PRODUCT_DEFINITION_FORMATION('','',#7)",
            "PRODUCT('','','',(#8))",
            "PRODUCT_CONTEXT('',#2,'mechanical')",
            "PRODUCT_DEFINITION_CONTEXT('part definition',#2,'design')",
            f"{representation}('',({','.join(f'#{item}' for item in items)}),#{units_at})"]


def placement(at: int, point: Point = (0.0, 0.0, 0.0), axis: Point = (0.0, 0.0, 1.0),
              ahead: Point = (1.0, 0.0, 0.0)) -> list[str]:
    """Return a placement [mm] as four statements of which the first is number `at`: where a frame's origin lies, where
    its z and its x axis point."""
    return [f"AXIS2_PLACEMENT_3D('',#{at + 1},#{at + 2},#{at + 3})", f"CARTESIAN_POINT('',{triple(point)})",
            f"DIRECTION('',{triple(axis)})", f"DIRECTION('',{triple(ahead)})"]


def triple(numbers: Point) -> str:
    """Return three real numbers in brackets."""
    return f"({','.join(map(real, numbers))})"


def units(at: int) -> list[str]:
    """Return millimetres, radians and the tolerance, and the product's category, as six statements from number `at`."""
    return [f"( GEOMETRIC_REPRESENTATION_CONTEXT(3) GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT((#{at + 4})) "
            f"GLOBAL_UNIT_ASSIGNED_CONTEXT((#{at + 1},#{at + 2},#{at + 3})) "
            "REPRESENTATION_CONTEXT('Context #1','3D Context with UNIT and UNCERTAINTY') )",
            "( LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT(.MILLI.,.METRE.) )",
            "( NAMED_UNIT(*) PLANE_ANGLE_UNIT() SI_UNIT($,.RADIAN.) )",
            "( NAMED_UNIT(*) SI_UNIT($,.STERADIAN.) SOLID_ANGLE_UNIT() )",
            f"UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E-07),#{at + 1},'distance_accuracy_value',"
            "'confusion accuracy')",
            "PRODUCT_RELATED_PRODUCT_CATEGORY('part',$,(#7))"]
