"""What is written by walking the fields: the commented description that a maker starts from, and its JSON schema."""

from json import dumps
from typing import Any, get_args

from pydantic.fields import FieldInfo

from partgen.describe import presets
from partgen.describe.description import KINDS, LISTED, Description
from partgen.describe.field import Table, counts, extra, inner_table, limits, words
from partgen.describe.toml_text import WIDTH, comment

RULE = "# " + "-" * (WIDTH - 2)

# What the starter describes, table by table with its preset: the first of a kind explained and spelt out.
START = {"track": "toy-37.5", "wheelset.standard": "toy-37.5", "coupler": "magnet-6x3", "printer": "bed-220",
         "ride": "", "supply": "", "train": "", "module.controller": "microcontroller-board",
         "module.bank": "power-bank-slim", "cup.espresso": "espresso-cup", "cup.tea": "tea-glass"}
WAGONS = ({"name": "controls", "wheelbase": 70.0, "modules": ["controller"]},
          {"name": "pantry", "wheelbase": 70.0, "modules": ["bank"], "cups": ["espresso", "tea"]})
CABLE = {"from": "controls.controller", "to": "pantry.bank", "current": 0.5}
OWN: dict[str, dict[str, Any]] = {      # to be measured before a train may be started so
    "wheelset": {"flange_angle": 90.0}, "supply": {"motor_current": 0.5, "current_limit": 1.0}}
LOCOMOTIVE = {"mass": 600.0, "adhesion": 0.5}
TITLE = {"title": "My train"}

GREETING = """\
# A train for partgen: what you measured and what you wish, nothing worked out.
#
# Lengths are in mm, masses in g, times in s, speeds in mm/s. The values here are only a start: put
# in your own. Where # stands right before a name, as in #travel = 4, the value shown holds as long
# as you say nothing; take the # away to change it. Where presets are listed, you may write
# use = "NAME" in place of the values, and under it only what differs from that preset.
"""


def starter(demo: str | None = None) -> str:
    """Return a description to start from: the commented one, or the text of the demo of that name.

    Raises DescriptionError when there is no such demo.
    """
    if demo is not None:
        return presets.demo(demo)
    parts = [GREETING, *(_field(name, field, TITLE) for name, field in Description.model_fields.items()
                         if name not in KINDS)]
    told = set()
    for heading, preset in START.items():
        kind = heading.split(".")[0]
        given = (presets.read(kind, preset) if preset else {}) | OWN.get(kind, {})
        parts += [f"[{heading}]\n" + _bare({"use": preset})] if kind in told else [
            _banner(kind), f"[{heading}]\n\n{_fields(KINDS[kind], given, kind)}"]
        told.add(kind)
    parts += [_banner("wagon"), f"[[wagon]]\n\n{_fields(KINDS['wagon'], WAGONS[0])}"]
    parts += [f"[[wagon]]\n{_bare(values)}" for values in WAGONS[1:]]
    return "\n".join([*parts, _banner("cable"), f"[[cable]]\n\n{_fields(KINDS['cable'], CABLE)}"])


def _banner(kind: str) -> str:
    ready = presets.catalogue().get(kind)
    lines = [RULE, comment(f"{kind.upper()}: {KINDS[kind].__doc__}")]
    lines += [comment(f"Presets: {', '.join(ready)}.")] if ready else []
    return "\n".join([*lines, RULE, ""])


def _fields(model: type[Table], given: dict[str, Any], path: str = "") -> str:
    """Return every field of `model`, explained; a table within it comes last, under its own heading."""
    lines, inside = [], []
    for name, field in model.model_fields.items():
        inner = inner_table(field)
        if inner is not None and not get_args(field.annotation):
            inside.append(f"[{path}.{name}]\n\n{comment(inner.__doc__)}\n\n{_fields(inner, LOCOMOTIVE)}")
        else:
            lines.append(_field(name, field, given))
    return "\n".join(lines + inside)


def _field(name: str, field: FieldInfo, given: dict[str, Any]) -> str:
    """Return one field: a comment, and its value from `given`, or its default behind a #."""
    line = (f"{name} = {_value(given[name])}" if name in given
            else f"#{name} = {_value(field.default)}".rstrip())
    return f"{comment(_explained(field))}\n{line}\n"


def _explained(field: FieldInfo) -> str:
    inner = inner_table(field)
    entries = inner.model_fields.items() if inner else ()
    return " ".join([f"{_sentence(field.description or '')} ({_allowed(field)}).",
                     *(f"{name}: {part.description} ({_allowed(part)})." for name, part in entries),
                     f"{_sentence(extra(field, 'measure'))}.",
                     *([f"Such as [{extra(field, 'example')}]."] if extra(field, "example") else [])])


def _allowed(field: FieldInfo) -> str:
    low, high = limits(field)
    fewest, most = counts(field)
    if low is not None:
        return f"{low:g} to {high:g} {extra(field, 'unit')}"
    if most is not None and field.annotation is str:
        return f"up to {most} letters"
    if most is not None:
        unit = f" in {extra(field, 'unit')}" if extra(field, "unit") else ""
        return f"{fewest} to {most} entries{unit}" if fewest else f"up to {most} entries{unit}"
    return ", ".join(words(field)) or ("a table" if inner_table(field) else "true or false")


def _bare(values: dict[str, Any]) -> str:
    return "".join(f"{name} = {_value(value)}\n" for name, value in values.items())


def _value(value: Any) -> str:
    """Return `value` as TOML; nothing for None."""
    if value is None:
        return ""
    if isinstance(value, Table):
        value = value.model_dump(include=value.model_fields_set)
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_value(entry)}" for key, entry in value.items()) + " }"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(map(_value, value)) + "]"
    return f"{value:.10g}" if isinstance(value, float) else dumps(value, ensure_ascii=False)


def _sentence(text: str) -> str:
    return text[0].upper() + text[1:]


DIALECT = "https://json-schema.org/draft/2020-12/schema"


def json_schema() -> dict[str, Any]:
    """Return the schema (draft 2020-12) of a description file, with units, ranges and reasons.

    A table that starts from a preset may leave out what the preset gives.
    """
    schema = Description.model_json_schema()
    for definition in (schema, *schema["$defs"].values()):
        for field in definition["properties"].values():
            _say_unit(field)
    for kind in KINDS.keys() - LISTED.keys():
        _allow_use(schema["$defs"][KINDS[kind].__name__], list(presets.catalogue().get(kind, ())))
    return {"$schema": DIALECT, **schema, "title": "partgen description"}


def _say_unit(field: dict[str, Any]) -> None:
    """Put unit and how to measure into the text that editors show."""
    unit, measure = field.get("unit"), field.get("measure")
    if "description" in field:
        field["description"] += (f" [{unit}]" if unit else "") + (f" ({measure})" if measure else "")


def _allow_use(definition: dict[str, Any], names: list[str]) -> None:
    if not names:
        return
    use = {"anyOf": [{"enum": names}, {"type": "string", "pattern": r"\.toml$"}],
           "description": "start from this preset, or from a file of your own; the other lines replace what differs"}
    definition["properties"]["use"] = use
    required = definition.pop("required", [])
    if required:
        definition["anyOf"] = [{"required": ["use"]}, {"required": required}]
