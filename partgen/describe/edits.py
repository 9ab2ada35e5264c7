"""Edits of a description: one value put in its place, or taken out; in data as TOML gives it, and in the file."""

from collections.abc import Iterable, Mapping, Sequence
from functools import reduce
from pathlib import Path
from typing import Any, cast

from msgspec import Struct

from partgen.describe.description import Description
from partgen.describe.faults import Steps
from partgen.describe.field import Table
from partgen.describe.toml_text import composed
from partgen.describe.wording import path_text
from partgen.files import edit

Data = Mapping[str, Any]


class Edit(Struct, frozen=True):
    """A value in its place of the description; None takes out what stands there.

    `steps` lead there as in the file, places in lists counted from 0, the one after the last for an entry more; `was`
    is what stood there, or would stand there by preset or default.
    """

    steps: Steps
    value: Any
    was: Any = None

    @property
    def path(self) -> str:
        """The place as a maker counts: wagon[1].wheelbase."""
        return path_text(*self.steps)

    def record(self) -> dict[str, Any]:
        """Return the edit as plain data for JSON."""
        return {"path": self.path, "value": self.value, "was": self.was}


def edit_of(data: Data, described: Description, steps: Steps, value: Any) -> Edit | None:
    """Return the edit that puts `value` at `steps`; None where none can: a value that a preset gives is not taken out
    by leaving a line out.

    A list that the file does not spell out is replaced whole, since there is no entry of it to change.
    """
    was = found(described, steps)
    for place, step in enumerate(steps):
        if isinstance(step, int) and not isinstance(_entry(data, steps[:place]), (list, tuple)):
            whole = list(map(_plain, found(described, steps[:place])))
            return Edit(steps[:place], _put(whole, steps[place:], value), found(described, steps[:place]))
    edited = Edit(steps, value, was)
    return edited if value is not None or _entry(data, steps) is not None else None


def applied(data: Data, edits: Iterable[Edit]) -> dict[str, Any]:
    """Return TOML data with the edits made, tables that are not there yet included; `data` stays as it is."""
    return cast("dict[str, Any]", reduce(lambda done, one: _put(done, one.steps, one.value), edits, data))


def rewritten(text: str, edits: Iterable[Edit]) -> str:
    """Return TOML `text` with the edits made; all else stays to the letter."""
    import tomlkit  # `check` has no use for it
    from tomlkit.items import InlineTable

    document = tomlkit.parse(text)
    for one in edits:
        table: Any = document
        for step in one.steps[:-1]:
            step = _spelt(table, step)
            if not isinstance(step, int) and step not in table:
                table[step] = tomlkit.inline_table() if isinstance(table, InlineTable) else tomlkit.table()
            table = table[step]
        _set(table, one.steps[-1], one.value)
    return tomlkit.dumps(document)


def write_back(path: Path, edits: Sequence[Edit]) -> None:
    """Make the edits in the file at `path`, complete or not at all; comments, line ends and all else stay to the byte.

    Raises OutputError when it cannot be written.
    """
    edit(path, lambda text: rewritten(text, edits))


def found(described: Description, steps: Steps) -> Any:
    """Return what stands at `steps` of a description, presets and defaults included; None where nothing does."""
    value: Any = described
    for step in steps:
        try:
            value = getattr(value, step) if isinstance(value, Table) and isinstance(step, str) else value[step]
        except (AttributeError, KeyError, IndexError, TypeError):
            return None
    return value


# ---- helpers


def _entry(data: Any, steps: Steps) -> Any:
    """Return what the file itself has at `steps`; None where it has nothing."""
    for step in steps:
        try:
            data = data[step]
        except (KeyError, IndexError, TypeError):
            return None
    return data


def _put(data: Any, steps: Steps, value: Any) -> Any:
    """Return a copy of `data` with `value` at `steps`."""
    if not steps:
        return value
    step, *rest = steps
    if isinstance(step, int):
        entries = list(data)
        entries[step:step + 1] = [_put(entries[step] if step < len(entries) else None, tuple(rest), value)]
        return entries
    changed = dict(data or {})
    if not rest and value is None:
        changed.pop(step, None)
        return changed
    return {**changed, step: _put(changed.get(step), tuple(rest), value)}


def _plain(entry: Any) -> Any:
    """Return an entry of a list as TOML has it: of a table what was given."""
    return entry.model_dump(mode="json", exclude_unset=True) if isinstance(entry, Table) else entry


def _spelt(table: Any, key: str | int) -> str | int:
    """Return `key` as the file spells it: there an accent may stand apart from its letter."""
    return key if isinstance(key, int) else next((one for one in table if composed(one) == key), key)


def _set(table: Any, key: str | int, value: Any) -> None:
    if value is None:
        table.pop(key, None)
    elif isinstance(table, list) and key == len(table):
        table.append(value)
    else:
        table[key] = value
