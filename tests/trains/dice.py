"""Random values for the fields of a description, drawn from what each field declares, and TOML to write them in."""

from json import dumps
from math import log
from random import Random
from types import NoneType
from typing import Literal, get_args, get_origin

from pydantic import BaseModel

SCRIPTS = ("tea line", "Fensterplätze", "Ærø Ölbar", "čajovna", "тихий час", "τσάι", "お茶", "茶水车", "찻집", "شاي",
           "תה", "ชา", "चाय", "Łyżka", "İğne ışık", "ẞtraße")
"""Words for a cup of tea and a quiet evening, in as many scripts as a maker may write."""

MARKS = (", warm", ' "2"', " #7", " & co.", "\\", " 🫖", "[2]", " $5", "'s", " a/b", "...", "-_-",
         " \U0001f469\u200d\U0001f373")
"""What a maker may write behind a word."""

NAMED = ("wheelset", "module", "cup")       # tables that stand under names of their own
AT_END = 0.02           # share of numbers that lie right at an end of their range
DECADES = 50.0          # a range that spans more is gone through by factors


class Dice:
    """Draws values: `reach` is how far from its default towards an end a number goes, `care` the share of choices
    that are made so that checks hold, `share` that of the free fields that are given at all; all 0 to 1."""

    def __init__(self, random: Random, reach: float, care: float, share: float):
        self.random, self.reach, self.care, self.share = random, reach, care, share

    def careful(self) -> bool:
        """Shall this choice be one that holds?"""
        return self.chance(self.care)

    def chance(self, share: float) -> bool:
        """Say yes in `share` of all cases."""
        return self.random.random() < share

    def between(self, low: float, high: float, places: int = 2) -> float:
        """Return a number from `low` to `high`, rounded as a maker would write it; `low` where they cross."""
        return _held(low + self.random.random() * (high - low), low, max(low, high), places)

    def spread(self, low: float, high: float, places: int = 2) -> float:
        """Return a number from `low` to `high`, both positive, as likely in one octave as in the next."""
        return _held(low * (high / low) ** self.random.random(), low, high, places)

    def one_of(self, *choices):
        """Return one of the choices."""
        return self.random.choice(choices)

    def words(self, longest: int, plain: bool = False, never: str = "") -> str:
        """Return a line of at most `longest` letters in some script, with none of the letters in `never`; `plain`:
        good for the name of a table."""
        marks = [mark for mark in ((" 2", "-b", "_3") if plain else MARKS) if not set(mark) & set(never)]
        whole = self.random.choice(SCRIPTS) + (self.random.choice(marks) if self.chance(0.3) else "")
        return whole[:longest].strip(" \u200d")

    def drawn(self, model: type[BaseModel], **given) -> dict:
        """Return a table of `model` with what is `given`, unless None, and a share of its other fields drawn.

        Lists are left to who knows what belongs into them.
        """
        table = {name: value for name, value in given.items() if value is not None}
        for name, field in model.model_fields.items():
            if name not in given and self.chance(self.share):
                value = self.value(field)
                if value is not None:
                    table[name] = value
        return table

    def value(self, field):
        """Return a value of the kind and range that a field declares; None for a list, or where none is needed."""
        kind = next((part for part in get_args(field.annotation) if part is not NoneType), field.annotation) \
            if NoneType in get_args(field.annotation) else field.annotation
        if get_origin(kind) is Literal:
            return self.random.choice(get_args(kind))
        if kind is bool:
            return self.chance(0.5)
        if kind in (int, float):
            return self.number(field, whole=kind is int)
        if kind is str:
            return self.words(limits(field, "max_length"))
        if isinstance(kind, type) and issubclass(kind, BaseModel):
            return self.drawn(kind)
        return None

    def number(self, field, whole: bool = False):
        """Return a number between the field's ends, nearer to its default the shorter this reaches."""
        low, high = limits(field, "ge"), limits(field, "le")
        end = self.random.choice((low, high))
        known = isinstance(field.default, (int, float))
        start = field.default if known else self.spread(low, high) if low > 0 else self.between(low, high)
        way = 1.0 if self.chance(AT_END) else self.reach * self.random.random() ** 2
        by_factors = min(start, end) > 0 and abs(log(end / start)) > log(DECADES)
        value = start * (end / start) ** way if by_factors else start + way * (end - start)
        return int(value) if whole else _held(value, low, high, 3 if high > 2 else 4)


def _held(value, low, high, places) -> float:
    """Return a value rounded, and within its ends for all that."""
    return round(min(max(round(value, places), low), high), 9)


def limits(field, which: str):
    """Return the limit of a field, "ge", "le", "min_length" or "max_length"; None where it has none."""
    return next((getattr(mark, which) for mark in field.metadata if hasattr(mark, which)), None)


def fields(path, model):
    """Yield the path of every value that a table may hold, with its field."""
    for name, field in model.model_fields.items():
        tables = (leaf for leaf in leaves(field.annotation) if isinstance(leaf, type) and issubclass(leaf, BaseModel))
        inner = next(tables, None)
        if inner:
            yield from fields((*path, name), inner)
        else:
            yield (*path, name), field


def leaves(annotation) -> list:
    """Return the kinds and words that an annotation is made of."""
    parts = get_args(annotation)
    return [leaf for part in parts for leaf in leaves(part)] if parts else [annotation]


def toml(data: dict) -> str:
    """Return a description's data as TOML: tables under headings, lists of tables one entry a line."""
    lines = [f"{_key(key)} = {_value(value)}" for key, value in data.items() if not _headed(value)]
    for key, value in data.items():
        for heading, table in _tables(key, value):
            lines += ["", heading, *(f"{_key(name)} = {_value(entry)}" for name, entry in table.items())]
    return "\n".join([*lines, ""])


def _headed(value) -> bool:
    return isinstance(value, dict) or _lists_tables(value)


def _lists_tables(value) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(entry, dict) for entry in value)


def _tables(key, value):
    """Yield (heading, table) of what stands under `key`: one table, tables by name, or a list of them."""
    if _lists_tables(value):
        yield from ((f"[[{_key(key)}]]", table) for table in value)
    elif isinstance(value, dict) and key in NAMED and _lists_tables(list(value.values())):
        yield from ((f"[{key}.{_key(name)}]", table) for name, table in value.items())
    elif isinstance(value, dict):
        yield f"[{_key(key)}]", value


def _key(key: str) -> str:
    return key if key.isascii() and key.replace("_", "").isalnum() else dumps(key, ensure_ascii=False)


def _value(value) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_key(name)} = {_value(entry)}" for name, entry in value.items()) + " }"
    if _lists_tables(value):
        return "[\n" + "".join(f"    {_value(entry)},\n" for entry in value) + "]"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(map(_value, value)) + "]"
    return repr(value) if isinstance(value, float) else dumps(value, ensure_ascii=False)
