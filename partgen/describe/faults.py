"""What is wrong, in words: every way a value can be amiss becomes a Fault that says what to do.

The numbers in the messages (unit, range, why, how to measure) are read from the fields.
"""

from collections.abc import Container, Iterable, Iterator
from typing import Any, TypeVar

from pydantic import ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from partgen.describe.description import KINDS, LISTED, NAMED
from partgen.describe.field import CHOOSE, Table, counts, extra, inner_table, limits, words
from partgen.describe.wording import key_text, nearest, path_text, stands, unseen, value_text
from partgen.errors import Fault

T = TypeVar("T", bound=Table)
Steps = tuple[str | int, ...]
"""Where a value stands: keys, and places counted from 0."""

_WANTED = {"float_type": "a number", "bool_type": "true or false", "string_type": "text in quotes",
           "tuple_type": "a list in square brackets", "model_type": "a table", "dict_type": "a table"}
_TEXT = {"string_too_long": "is longer than {max_length} letters: shorten it",
         "string_too_short": "is empty: write something, or leave the line out",
         "string_pattern_mismatch": "holds a line break or a control character: keep it to one plain line"}


def heading(kind: str) -> str:
    """Return the heading that a table of `kind` has in TOML, as in [wheelset.standard]."""
    named = "standard" if kind == "wheelset" else "NAME"
    return f"[{kind}.{named}]" if kind in NAMED else f"[[{kind}]]" if kind in LISTED else f"[{kind}]"


def not_a_table(kind: str, steps: Steps, value: object) -> Fault:
    """Say that `value` stands at path `steps` where a table of `kind` belongs."""
    name = path_text(*steps)
    found = f"{name} is a single table" if isinstance(value, dict) else stands(name, value)
    return Fault(name, f"{found}, but {heading(kind)} belongs there on its own line, its values below it")


def judged(steps: Steps, model: type[T], table: dict[str, Any], whole: bool = True) -> tuple[T | None, list[Fault]]:
    """Return (`table`, standing at path `steps`, as a `model`, or None where it is none; all its faults).

    What is missing is a fault only where the table is `whole`.
    """
    try:
        sound = model.model_validate(table)
    except ValidationError as error:
        errors = [entry for entry in error.errors(include_url=False) if whole or entry["type"] != "missing"]
        return None, from_errors(steps, model, table, errors)
    return sound, list(_clashes(steps, sound))


def from_errors(steps: Steps, model: type[Table], table: dict[str, Any], errors: Iterable[ErrorDetails]) -> list[Fault]:
    """Turn the validation `errors` of `table`, a `model` standing at path `steps`, into faults.

    An error that only echoes another is dropped: a missing key beside its own misspelling, each entry
    of a list that is too long as a whole, the length of a list whose entries are wrong.
    """
    faults: list[Fault] = []
    crowded = set()
    for name, field in model.model_fields.items():
        most = counts(field)[1]
        if most and isinstance(table.get(name), tuple) and len(table[name]) > most:
            crowded.add(name)
            faults.append(Fault(path_text(*steps, name), _count(name, field, table[name], None, most)))
    errors = [error for error in errors if error["loc"][0] not in crowded]
    misspelt = {error["loc"][:-1] + (_meant(model, error["loc"]),) for error in errors
                if error["type"] == "extra_forbidden"}
    parents = {error["loc"][:end] for error in errors for end in range(1, len(error["loc"]))}
    echoes: dict[str, Container[tuple[Any, ...]]] = {"missing": misspelt, "too_short": parents}
    return faults + [Fault(path_text(*steps, *error["loc"]), _message(model, error)) for error in errors
                     if error["loc"] not in echoes.get(error["type"], ())]


def _clashes(steps: Steps, table: Table) -> Iterator[Fault]:
    """Yield a fault for every combination of values that cannot be, in `table` and the tables in it."""
    for name, message in table.conflicts():
        yield Fault(".".join(filter(None, (path_text(*steps), name))), message)
    for name in type(table).model_fields:
        value = getattr(table, name)
        if isinstance(value, str) and (hidden := unseen(value)):
            yield Fault(path_text(*steps, name), f"{stands(name, value)} {hidden}")
        inner = enumerate(value) if isinstance(value, tuple) else ((None, value),)
        for place, entry in inner:
            if isinstance(entry, Table):
                yield from _clashes((*steps, name) if place is None else (*steps, name, place), entry)


def _message(model: type[Table], error: ErrorDetails) -> str:
    loc, kind, value = error["loc"], error["type"], error["input"]
    owner, field = _locate(model, loc)
    if kind == "extra_forbidden":
        return _unknown(owner, str(loc[-1]), _meant(model, loc))
    name = path_text(*_own_name(loc))
    if kind == "missing" or (kind == "too_short" and name in KINDS):
        return _missing(name, field, loc)
    if kind in ("greater_than_equal", "less_than_equal", "finite_number") or (
            kind == "float_type" and type(value) is int):
        return _out_of_range(name, field, value)
    if kind == "literal_error":
        return _no_such_word(name, field, value)
    if kind in _WANTED:
        unit = extra(field, "unit") if kind == "float_type" else ""
        wanted = f"{_WANTED[kind]} in {unit}" if unit else _WANTED[kind]
        return f"{stands(name, value)}, but {wanted} belongs there: {field.description}"
    if kind in ("too_long", "too_short"):
        return _count(name, field, value, error["ctx"].get("min_length"), error["ctx"].get("max_length"))
    return f"{stands(name, value)} " + _TEXT.get(kind, error["msg"]).format(**error.get("ctx", {}))


def _unknown(owner: type[Table], key: str, meant: str | None) -> str:
    name = key_text(key)
    if meant:
        return f"{name} is unknown here; did you mean {meant}?"
    homes = [heading(kind) for kind, table in KINDS.items() if key in table.model_fields]
    if homes:
        return f"{name} is unknown here; it belongs under {' or '.join(homes)}"
    return f"{name} is unknown here (known: {', '.join(_keys(owner))})"


def _missing(name: str, field: FieldInfo, loc: Steps) -> str:
    if isinstance(loc[-1], int):
        return f"{name} is missing: {field.description}"
    if name in KINDS:
        start = ", or use = a preset: `partgen presets` lists them" if name not in LISTED else ""
        return f"{name} is missing: write {heading(name)} on a line of its own, its values below it{start}"
    unit = extra(field, "unit")
    return f"{name} is missing: {field.description}{', in ' + unit if unit else ''}{_how(field)}"


def _out_of_range(name: str, field: FieldInfo, value: object) -> str:
    size = f"{name} = {value_text(value)} {extra(field, 'unit')}"
    low, high = limits(field)
    if low is None:
        return f"{size} cannot be measured: {field.description}"
    return f"{size} is outside {low:g} to {high:g} {extra(field, 'unit')}: {extra(field, 'why')}{_how(field)}"


def _how(field: FieldInfo) -> str:
    measure = extra(field, "measure")
    return f". {measure[0].upper()}{measure[1:]}" if measure and measure != CHOOSE else ""


def _no_such_word(name: str, field: FieldInfo, value: object) -> str:
    allowed = words(field)
    near = nearest(value, allowed) if isinstance(value, str) else None
    return (f"{stands(name, value)}, not one of {', '.join(allowed)}"
            + (f"; did you mean {near}?" if near else f": {field.description}"))


def _count(name: str, field: FieldInfo, value: Any, fewest: int | None, most: int | None) -> str:
    limit = f"at most {most}" if most is not None and len(value) > most else f"at least {fewest}"
    return f"{name} is {value_text(value)}, but it takes {limit}: {field.description}"


def _meant(model: type[Table], loc: Steps) -> str | None:
    return nearest(str(loc[-1]), _keys(_locate(model, loc)[0]))


def _keys(owner: type[Table]) -> list[str]:
    takes_use = owner in KINDS.values() and owner not in LISTED.values()
    return [*owner.model_fields, *(["use"] if takes_use else [])]


def _locate(model: type[Table], loc: Steps) -> tuple[type[Table], Any]:
    """Return the table that holds the last key of `loc`, and its field (None for an unknown key)."""
    field = None
    for step in loc:
        if isinstance(step, str):
            model = (inner_table(field) if field else None) or model
            field = model.model_fields.get(step)
    return model, field


def _own_name(loc: Steps) -> Steps:
    """Cut `loc` to its last key and the places after it: ("a", 0, "b", 1) becomes ("b", 1)."""
    return loc[max(place for place, step in enumerate(loc) if isinstance(step, str)):]
