"""Descriptions damaged the way files are: keys lost or misspelt, values of the wrong kind, size or script."""

import tomllib
from random import Random

from trains.dice import toml

WRONG = (
    float("nan"), float("inf"), float("-inf"), 1e308, -1e308, 1e-308, 10**30, -10**30, 2**63, 0, -0.0, -1, 1e-9, 0.5, 3,
    True, "", " ", "nan", "7", "left", "\u202eerutlov", "e\u0301\u0323" * 20, "\U0001f682", "\u200b", "x" * 500,
    "/etc", "..", "a\\b", "%s{0}[red]", [], [[]], [1, "a", [2]], ["left"] * 3, [[0, 8], [8, 8]], {}, {"a": {"b": 1}})
"""Values that no maker means; some are as good as any in one place or another."""

EDGES = (0.0, 1.0, -1.0, 1e-6, 0.99999, 2.0, 10.0, 1000.0)
"""What numbers are multiplied by."""


def damaged(text: str, random: Random, blows: int) -> str:
    """Return the description `text` after some blows, as TOML that can be read."""
    data = tomllib.loads(text)
    for _ in range(blows):
        table, key = random.choice(list(_places(data)))
        random.choice((_lose, _misspell, _swap, _scale, _scale, _double))(table, key, random)
    return toml(data)


def _places(value):
    """Yield (table or list, key or place) of all that stands in the data, tables and lists included."""
    entries = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, entry in entries:
        yield value, key
        yield from _places(entry)


def _lose(table, key, random):
    del table[key]


def _misspell(table, key, random):
    if isinstance(table, dict):
        table[random.choice((f"{key}s", key[:-1], key.upper(), "ключ", "", " "))] = table.pop(key)


def _swap(table, key, random):
    table[key] = random.choice(WRONG)


def _scale(table, key, random):
    if type(table[key]) in (int, float):
        table[key] = table[key] * random.choice(EDGES)


def _double(table, key, random):
    if isinstance(table, list):
        table.extend([table[key]] * random.choice((1, 3, 300)))
