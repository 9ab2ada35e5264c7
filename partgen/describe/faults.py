"""What is wrong, in words: every way a value can be amiss becomes a Fault that says what to do.

The numbers in the messages (unit, range, why, how to measure) are read from the fields.
"""

import json
from difflib import get_close_matches
from typing import get_args

from partgen.describe.description import KINDS, LISTED, NAMED
from partgen.describe.field import Table
from partgen.errors import Fault

_LONGEST = 60
_HUGE = 10**15
_WANTED = {"float_type": "a number", "bool_type": "true or false", "string_type": "text in quotes",
           "tuple_type": "a list in square brackets", "model_type": "a table", "dict_type": "a table"}
_TEXT = {"string_too_long": "is longer than {max_length} letters: shorten it",
         "string_too_short": "is empty: write something, or leave the line out",
         "string_pattern_mismatch": "holds a line break or a control character: keep it to one plain line"}


def path_text(*steps) -> str:
    """Join `steps` to a path as a maker counts: ("wagon", 0, "wall") is wagon[1].wall."""
    path = ""
    for step in steps:
        path += f"[{step + 1}]" if isinstance(step, int) else ("." if path else "") + key_text(step)
    return path


def key_text(key: str) -> str:
    """Return `key` as it stands in TOML, in quotes where it needs them, cut to a readable length."""
    plain = key.replace("-", "").replace("_", "").isalnum() and len(key) <= _LONGEST
    return key if plain else _cut(json.dumps(key[:_LONGEST + 1]))


def heading(kind: str) -> str:
    """Return the heading that a table of `kind` has in TOML, as in [wheelset.standard]."""
    named = "standard" if kind == "wheelset" else "NAME"
    return f"[{kind}.{named}]" if kind in NAMED else f"[[{kind}]]" if kind in LISTED else f"[{kind}]"


def shown(value) -> str:
    """Return `value` as a maker would write it, cut to a readable length."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int) and abs(value) >= _HUGE:
        return f"{'-' if value < 0 else ''}1e{round(value.bit_length() * 0.30103)} or so"
    if isinstance(value, (int, float)):
        return f"{value:.10g}"
    if isinstance(value, str):
        return _cut(repr(value[:_LONGEST + 1]))
    if isinstance(value, tuple):
        return "a list of one entry" if len(value) == 1 else f"a list of {len(value) or 'no'} entries"
    return "a table" if isinstance(value, dict) else "a date or time"


def printable(text: str) -> str:
    """Return `text` with whatever would disturb a terminal shown as a question mark."""
    return "".join(letter if letter.isprintable() else "?" for letter in text)


def finding(name: str, value) -> str:
    """Say what was found: "gauge = 3", or "gauge is a table" where the value is no single line."""
    plain = isinstance(value, (bool, int, float, str))
    return f"{name} = {shown(value)}" if plain else f"{name} is {shown(value)}"


def did_you_mean(word: str, known) -> str:
    """Quote `word` and append the nearest of the `known` words, or some of them when none is near."""
    near = nearest(word, known)
    some = ", ".join(list(known)[:20]) + (", ..." if len(known) > 20 else "")
    return f"{shown(word)}; did you mean {near}?" if near else f"{shown(word)} (there are: {some or 'none'})"


def nearest(word: str, known):
    """Return the one of the `known` words that `word` was meant to be, None when none is near."""
    return next(iter(get_close_matches(word[:_LONGEST], known, 1)), None)


def limits(field, low: str = "ge", high: str = "le") -> tuple:
    """Return the bounds of a field's numbers, or lengths by "min_length", "max_length"; None for none."""
    return tuple(next((getattr(mark, side) for mark in field.metadata if hasattr(mark, side)), None)
                 for side in (low, high))


def extra(field, name: str) -> str:
    """Return the field's "unit", "why" or "measure", empty where it has none."""
    return (field.json_schema_extra or {}).get(name, "")


def words(field) -> tuple:
    """Return the allowed words of a choice, or of a list of choices; empty for anything else."""
    return tuple(word for word in _leaves(field.annotation) if isinstance(word, str))


def inner_table(field):
    """Return the Table that a field holds, directly or in a list; None where there is none."""
    leaves = _leaves(field.annotation)
    return next((leaf for leaf in leaves if isinstance(leaf, type) and issubclass(leaf, Table)), None)


def not_a_table(kind: str, steps: tuple, value) -> Fault:
    """Say that `value` stands at path `steps` where a table of `kind` belongs."""
    name = path_text(*steps)
    found = f"{name} is a single table" if isinstance(value, dict) else finding(name, value)
    return Fault(name, f"{found}, but {heading(kind)} belongs there on its own line, its values below it")


def from_errors(steps: tuple, model, table: dict, errors) -> list:
    """Turn the validation `errors` of `table`, a `model` standing at path `steps`, into faults.

    An error that only echoes another is dropped: a missing key beside its own misspelling, each entry
    of a list that is too long as a whole, the length of a list whose entries are wrong.
    """
    faults, crowded = [], set()
    for name, field in model.model_fields.items():
        most = limits(field, "min_length", "max_length")[1]
        if most and isinstance(table.get(name), tuple) and len(table[name]) > most:
            crowded.add(name)
            faults.append(Fault(path_text(*steps, name), _count(name, field, table[name], None, most)))
    errors = [error for error in errors if error["loc"][0] not in crowded]
    misspelt = {error["loc"][:-1] + (_meant(model, error["loc"]),) for error in errors
                if error["type"] == "extra_forbidden"}
    parents = {error["loc"][:end] for error in errors for end in range(1, len(error["loc"]))}
    for error in errors:
        loc, kind = error["loc"], error["type"]
        echo = (kind == "missing" and loc in misspelt) or (kind == "too_short" and loc in parents)
        if not echo:
            faults.append(Fault(path_text(*steps, *loc), _message(model, error)))
    return faults


def clashes(steps: tuple, table: Table):
    """Yield a fault for every combination of values that cannot be, in `table` and the tables in it."""
    for name, message in table.conflicts():
        yield Fault(f"{path_text(*steps)}.{name}", message)
    for name in type(table).model_fields:
        value = getattr(table, name)
        inner = enumerate(value) if isinstance(value, tuple) else ((None, value),)
        for place, entry in inner:
            if isinstance(entry, Table):
                yield from clashes((*steps, name) if place is None else (*steps, name, place), entry)


def _message(model, error):
    loc, kind, value = error["loc"], error["type"], error["input"]
    owner, field = _locate(model, loc)
    if kind == "extra_forbidden":
        return _unknown(owner, loc[-1], _meant(model, loc))
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
        return f"{finding(name, value)}, but {wanted} belongs there: {field.description}"
    if kind in ("too_long", "too_short"):
        return _count(name, field, value, error["ctx"].get("min_length"), error["ctx"].get("max_length"))
    return f"{finding(name, value)} " + _TEXT.get(kind, error["msg"]).format(**error.get("ctx", {}))


def _unknown(owner, key, meant):
    name = key_text(key)
    if meant:
        return f"{name} is unknown here; did you mean {meant}?"
    homes = [heading(kind) for kind, table in KINDS.items() if key in table.model_fields]
    if homes:
        return f"{name} is unknown here; it belongs under {' or '.join(homes)}"
    return f"{name} is unknown here (known: {', '.join(_keys(owner))})"


def _missing(name, field, loc):
    if isinstance(loc[-1], int):
        return f"{name} is missing: {field.description}"
    if name in KINDS:
        start = ", or use = a preset: `partgen presets` lists them" if name not in LISTED else ""
        return f"{name} is missing: write {heading(name)} on a line of its own, its values below it{start}"
    unit = extra(field, "unit")
    return f"{name} is missing: {field.description}{', in ' + unit if unit else ''}{_how(field)}"


def _out_of_range(name, field, value):
    size = f"{name} = {shown(value)} {extra(field, 'unit')}"
    low, high = limits(field)
    if low is None:
        return f"{size} cannot be measured: {field.description}"
    return f"{size} is outside {low:g} to {high:g} {extra(field, 'unit')}: {extra(field, 'why')}{_how(field)}"


def _how(field):
    measure = extra(field, "measure")
    return f". {measure[0].upper()}{measure[1:]}" if measure and measure != "choose" else ""


def _no_such_word(name, field, value):
    allowed = words(field)
    near = nearest(value, allowed) if isinstance(value, str) else None
    return (f"{finding(name, value)}, not one of {', '.join(allowed)}"
            + (f"; did you mean {near}?" if near else f": {field.description}"))


def _count(name, field, value, fewest, most):
    limit = f"at most {most}" if most is not None and len(value) > most else f"at least {fewest}"
    return f"{name} is {shown(value)}, but it takes {limit}: {field.description}"


def _meant(model, loc):
    return nearest(loc[-1], _keys(_locate(model, loc)[0]))


def _keys(owner):
    takes_use = owner in KINDS.values() and owner not in LISTED.values()
    return [*owner.model_fields, *(["use"] if takes_use else [])]


def _locate(model, loc):
    """Return the table that holds the last key of `loc`, and its field (None for an unknown key)."""
    field = None
    for step in loc:
        if isinstance(step, str):
            model = (inner_table(field) if field else None) or model
            field = model.model_fields.get(step)
    return model, field


def _own_name(loc):
    """Cut `loc` to its last key and the places after it: ("a", 0, "b", 1) becomes ("b", 1)."""
    return loc[max(place for place, step in enumerate(loc) if isinstance(step, str)):]


def _leaves(annotation):
    parts = get_args(annotation)
    return [leaf for part in parts for leaf in _leaves(part)] if parts else [annotation]


def _cut(quoted):
    return quoted if len(quoted) <= _LONGEST else quoted[:_LONGEST - 4] + "..." + quoted[-1]
