"""A wagon as a STEP assembly, made from its parts' STEP texts without the CAD kernel.

The statements of each distinct part are taken over once, numbered on from those before; the wagon is a product in whose
representation a placement stands for every copy. Source: ISO 10303-44, as the kernel writes it.
"""

import re
from collections.abc import Iterable, Sequence
from math import cos, radians, sin

from partgen.export.bodies import Body
from partgen.export.step_file import (
    DEFINITION,
    ORIGIN,
    SHAPE,
    SHARED,
    lines_of,
    numbered,
    opening,
    placement,
    units,
    written,
)
from partgen.export.step_text import named, spelt, unquoted

_REFERENCE = re.compile(r"#(\d+)")


def wagon_step(name: str, bodies: Iterable[Body]) -> bytes:
    """Return an assembly called `name` as STEP [mm]: every body a named occurrence at its place.

    Each `Body.form` is the STEP text of one solid, coloured and in its own frame, as `part_step` writes it; copies
    are occurrences of one product, called as the first one's kind.
    """
    copies = list(bodies)
    own = _wagon(copies)
    texts, taken, shifts = [numbered(own)], len(own), dict[bytes, int]()
    for number, body in enumerate(copies, 1):
        if body.form not in shifts:
            shifts[body.form] = taken - SHARED
            texts.append(_taken_over(body, shifts[body.form]))
            taken += texts[-1].count("\n")
        occurrence = _occurrence(body, number, shifts[body.form], taken + 1)
        texts.append(numbered(occurrence, taken + 1))
        taken += len(occurrence)
    return written(name, "".join(texts))


def _wagon(copies: Sequence[Body]) -> list[str]:
    """Return the wagon's own statements: in its representation its origin and a placement for every copy."""
    places = [_placed(number) for number in range(len(copies) + 1)]
    statements = opening("SHAPE_REPRESENTATION", places, units_at=places[-1] + 4) + placement(ORIGIN)
    for at, body in zip(places[1:], copies, strict=True):
        yaw = radians(body.place.yaw)
        ahead = (0.0, 0.0, 1.0) if not body.axis[2] else (cos(yaw), sin(yaw), 0.0)
        statements += placement(at, (body.place.x, body.place.y, body.place.z), body.axis, ahead)
    return statements + units(places[-1] + 4)


def _placed(number: int) -> int:
    """Return which statement is the placement of copy `number`, counted from 1; 0 is the wagon's origin."""
    return ORIGIN + 4 * number


def _taken_over(body: Body, shift: int) -> str:
    """Return a part's statements without those that every file has, called as the body's kind, numbers raised."""
    def raised(found: re.Match[str]) -> str:
        number = int(found[1])
        return f"#{number + shift if number > SHARED else number}"
    _, _, own = lines_of(named(body.form, body.kind)).split("\n", SHARED)
    return unquoted(_REFERENCE, raised, own)


def _occurrence(body: Body, number: int, shift: int, at: int) -> list[str]:
    """Return the statements, from number `at`, that set copy `number` of a part at its place in the wagon; the part's
    own numbers were raised by `shift`."""
    return [f"CONTEXT_DEPENDENT_SHAPE_REPRESENTATION(#{at + 1},#{at + 3})",
            f"( REPRESENTATION_RELATIONSHIP('','',#{SHAPE + shift},#{SHAPE}) "
            f"REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION(#{at + 2}) SHAPE_REPRESENTATION_RELATIONSHIP() )",
            f"ITEM_DEFINED_TRANSFORMATION('','',#{ORIGIN + shift},#{_placed(number)})",
            f"PRODUCT_DEFINITION_SHAPE('Placement','Placement of an item',#{at + 4})",
            f"NEXT_ASSEMBLY_USAGE_OCCURRENCE('{number}',{spelt(body.name)},'',#{DEFINITION},#{DEFINITION + shift},$)"]
