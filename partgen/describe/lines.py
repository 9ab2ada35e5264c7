"""On which line of a description's text a value stands."""

import re
from collections import Counter
from collections.abc import Mapping

from partgen.describe.toml_text import composed
from partgen.describe.wording import path_text

_KEY = r"""(?:[\w-]+|"[^"]*"|'[^']*')"""
_KEYS = rf"{_KEY}(?:\s*\.\s*{_KEY})*"
_HEADING = re.compile(rf"\s*(\[\[?)\s*({_KEYS})\s*\]\]?\s*(?:#.*)?")
_VALUE = re.compile(rf"\s*({_KEYS})\s*=")


def lines_of(text: str) -> dict[str, int]:
    """Return the line, counted from 1, of every table and value of TOML `text` that begins one, by its path as a maker
    counts: "wagon[1].wheelbase"."""
    found: dict[str, int] = {}
    counted: Counter[str] = Counter()
    table = ""
    for number, line in enumerate(composed(text).split("\n"), 1):
        if heading := _HEADING.fullmatch(line.rstrip("\r")):
            table = _path("", heading[2])
            if heading[1] == "[[":
                counted[table] += 1
                table = f"{table}[{counted[table]}]"
            found.setdefault(table, number)
        elif value := _VALUE.match(line):
            found.setdefault(_path(table, value[1]), number)
    return found


def line_of(lines: Mapping[str, int], path: str) -> int:
    """Return the line of what stands at `path`, or of the nearest table or list round it; 0 where the text has none."""
    while path:
        if path in lines:
            return lines[path]
        path = re.sub(r"""(\[\d+\]|\.?[^.\[\]"]+|\.?"[^"]*")$""", "", path) if not path.endswith(".") else path[:-1]
    return 0


def _path(table: str, keys: str) -> str:
    steps = [key.strip("\"'") for key in re.findall(_KEY, keys)]
    return ".".join(filter(None, (table, path_text(*steps))))
