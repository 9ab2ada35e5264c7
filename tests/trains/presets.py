"""The presets as plain data, read where they lie."""

import tomllib
from functools import cache
from pathlib import Path

FOLDER = Path(__file__).parents[2] / "presets"


def names(kind: str) -> list[str]:
    """Return the names of the presets of a kind."""
    return sorted(path.stem for path in (FOLDER / kind).glob("*.toml"))


@cache
def _read(kind: str, name: str) -> dict:
    table = tomllib.loads((FOLDER / kind / f"{name}.toml").read_text(encoding="utf-8"))[kind]
    inner = next(iter(table.values()))
    return inner if isinstance(inner, dict) else table


def filled(kind: str, table: dict) -> dict:
    """Return a table with the values of the preset that it starts from."""
    return {**_read(kind, table["use"]), **table} if "use" in table else table
