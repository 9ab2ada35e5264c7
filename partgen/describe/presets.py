"""Presets: ready-made tables, one TOML file each, opened only when one is asked for.

A preset begins with a `source` line and holds one table of the same shape as in a description, so a
maker can copy it. A demo is a whole description and lies beside the folders of presets.
"""

import tomllib
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from partgen.describe.toml_text import parsed, text_at
from partgen.describe.wording import did_you_mean, value_text
from partgen.errors import DescriptionError, Fault, PartgenError


@cache
def catalogue() -> dict[str, dict[str, Traversable]]:
    """Return the presets' paths by kind and name, both sorted.

    Raises PartgenError when the installation lacks its presets.
    """
    folders = sorted((entry for entry in _root().iterdir() if entry.is_dir()), key=lambda entry: entry.name)
    return {folder.name: _toml_files(folder) for folder in folders}


@cache
def demos() -> dict[str, Traversable]:
    """Return the paths of the demo descriptions by name. Raises PartgenError as `catalogue` does."""
    return _toml_files(_root())


def source(kind: str, name: str) -> str:
    """Say where the figures of preset `name` of `kind` come from. Raises DescriptionError as `read`."""
    return str(tomllib.loads(text(kind, name))["source"])


def read(kind: str, name: str) -> dict[str, Any]:
    """Return the table of preset `name` of `kind`, as TOML gives it, for the caller to change at will.

    Raises DescriptionError when there is none of that name, with the names that come near.
    """
    table = tomllib.loads(text(kind, name))[kind]
    named = len(table) == 1 and isinstance(only := next(iter(table.values())), dict)
    return dict(only if named else table)


def text(kind: str, name: str) -> str:
    """Return the whole file of preset `name` of `kind`. Raises DescriptionError as `read`."""
    known = catalogue().get(kind, {})
    return _find(name, known, f"no {kind} preset").read_text(encoding="utf-8")


BEGUN = "`partgen presets NAME` shows what one looks like"


def own(kind: str, path: str) -> dict[str, Any]:
    """Return the table of `kind` in a maker's own preset file at `path`, as TOML gives it.

    Raises DescriptionError when the file cannot be read or holds no such table.
    """
    data = parsed(text_at(Path(path), BEGUN), path, BEGUN)
    table = data.get(kind)
    if not isinstance(table, dict) or data.keys() - {kind, "source"}:
        raise DescriptionError([Fault(path, f"is no preset of a {kind}: it must hold a line `source` and one table "
                                            f"[{kind}], nothing else")])
    return table


def written(kind: str, table: dict[str, Any], source: str) -> str:
    """Return the text of a preset file that `own` reads; `table` holds numbers, words and tables of them."""
    import tomlkit  # `check` has no use for it

    return tomlkit.dumps({"source": source, kind: {name: value for name, value in table.items() if value is not None}})


def demo(name: str) -> str:
    """Return the text of the demo description `name`. Raises DescriptionError as `read`."""
    return _find(name, demos(), "no demo").read_text(encoding="utf-8")


def _find(name: str, known: dict[str, Traversable], what: str) -> Traversable:
    if name not in known:
        hint = did_you_mean(name, known)
        raise DescriptionError([Fault("", f"there is {what} of the name {value_text(name)}{hint}")])
    return known[name]


def _toml_files(folder: Traversable) -> dict[str, Traversable]:
    found = [entry for entry in folder.iterdir() if entry.name.endswith(".toml")]
    return dict(sorted((entry.name.removesuffix(".toml"), entry) for entry in found))


def _root() -> Traversable:
    package = files("partgen")
    # A wheel carries the presets inside the package; a checkout keeps them at its top.
    for folder in (package / "presets", Path(str(package)).parent / "presets"):
        if folder.is_dir():
            return folder
    raise PartgenError("this installation lacks its presets: install partgen again")
