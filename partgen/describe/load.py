"""From a description file to a Description, or to every fault in it at once."""

import re
from collections.abc import Callable, Iterable, Iterator
from hashlib import sha256
from json import dumps
from pathlib import Path
from typing import Any, cast
from unicodedata import category

from msgspec.structs import replace
from pydantic import ValidationError

from partgen.describe import presets
from partgen.describe.description import KINDS, LISTED, NAMED, Description, Known, between
from partgen.describe.faults import Steps, from_errors, heading, judged, not_a_table
from partgen.describe.field import Table, counts
from partgen.describe.lines import line_of, lines_of
from partgen.describe.toml_text import frozen, parsed, text_at
from partgen.describe.wording import path_text, printable, stands, value_text
from partgen.errors import DescriptionError, Fault

OWN = ".toml"           # what the name of a maker's own preset ends with
_NAME = re.compile(r"[\w][\w -]{0,39}")
_MARKS = ("Mn", "Mc")   # of Unicode's categories: accents and vowel signs that are characters of their own


def load(path: Path | str) -> Description:
    """Return the description in the file at `path`.

    Raises DescriptionError with every fault found: in the file itself, in TOML, in the values.
    """
    path = Path(path)
    return loads(text_at(path), path.name, path.parent)


def loads(text: str, where: str = "description", folder: Path = Path()) -> Description:
    """Return the description that the TOML `text` holds; faults of TOML name `where` they stand.

    A maker's own presets, `use = "mine.toml"`, are looked for from `folder` on. Raises DescriptionError with
    every fault found.
    """
    description, faults = examine(parsed(text, where), folder)
    if description is None:
        lines = lines_of(text)
        raise DescriptionError(replace(fault, line=line_of(lines, fault.path)) for fault in faults)
    return description


def examine(data: dict[str, Any], folder: Path = Path()) -> tuple[Description | None, list[Fault]]:
    """Return (Description or None, faults) for `data` as tomllib gives it; own presets are looked for in `folder`.

    Every table is judged by itself; the rules between tables hold wherever both are sound.
    """
    try:
        data = frozen(data)
    except DescriptionError as error:
        return None, list(error.faults)
    reading = _Reading(folder)
    tables = {kind: reading.tables(kind, value) for kind, value in data.items() if kind in KINDS}
    description, top_faults = _assembled(data, tables)
    title = None if any(fault.path == "title" for fault in top_faults) else data.get("title")
    known = {**_absent(tables), **tables, "title": title}
    faults = top_faults + reading.faults + [Fault(path, printable(text)) for path, text in between(cast(Known, known))]
    return (None, faults) if faults else (description, [])


def sources(path: Path) -> frozenset[Path]:
    """Return the files that the description at `path` is read from: itself and a maker's own presets.

    Raises DescriptionError when it cannot be read or is no TOML.
    """
    tables = [value for value in parsed(text_at(path), path.name).values() if isinstance(value, dict)]
    named = [table for value in tables for table in value.values() if isinstance(table, dict)]
    used = {name for table in (*tables, *named) if isinstance(name := table.get("use"), str) and name.endswith(OWN)}
    return frozenset({path, *(path.parent / name for name in used)})


BY_DEFAULT = "by defaults, not measured"
"""How a figure is marked that rests on values that nobody gave."""
ASSUMED = {"flange_angle", "breakaway", "coupler_height", "motor_current", "current_limit"}
"""Fields that count as something where they are left out."""
ASKED: dict[str, Callable[[Any], object]] = {
    "plug_room": lambda module: module.plugs, "hole": lambda module: module.holes,
    "standoff": lambda module: module.holes,
    "handle_length": lambda cup: cup.handle, "flange_angle": lambda wheelset: not wheelset.printed,
    "tube_diameter": lambda wheelset: wheelset.ends == "tube",
    "bearing_outer": lambda wheelset: wheelset.ends == "bearing",
    "bearing_width": lambda wheelset: wheelset.ends == "bearing",
    "coupler_height": lambda locomotive: not locomotive.adaptor,
    "coupler_inset": lambda locomotive: not locomotive.adaptor,
    "mass": lambda table: not getattr(table, "printed", False)}
"""Fields that nothing asks about unless their table says so."""
OF_CABLES = {"most_current", "least_current", "motor_current", "current_limit"}
"""Fields of the supply that nothing asks about where no cables are described."""


def usual(description: Description) -> Iterator[tuple[Steps, Table]]:
    """Yield where every field stands that nobody gave, that counts as some value and that something asks for, and the
    table that has it; currents of modules stand for the supply's."""
    for steps, table in left_out(description):
        name = str(steps[-1])
        told = {other for alike in table.ALIKE if name in alike for other in alike} & table.model_fields_set
        if (getattr(table, name) is not None or name in ASSUMED) and not told and (
                name not in ASKED or ASKED[name](table)) and (
                name != "load_current" or not description.currents_given) and (
                name not in OF_CABLES or description.cable):
            yield steps, table


def digest(description: Description) -> str:
    """Return the sha256 of the description's values, the same however the file was laid out, but for the order of
    tables by name, which numbers files."""
    values = description.model_dump(mode="json")
    return sha256(dumps(values, separators=(",", ":")).encode()).hexdigest()


def digest_as_given(description: Description) -> str:
    """Return the sha256 of its values and of which of them nobody gave, which report, ride card and manifest tell."""
    unknown = [steps for steps, _ in left_out(description)]
    return sha256(dumps([digest(description), unknown]).encode()).hexdigest()


def _sound(name: str) -> bool:
    """Say whether a table may be called so; accents and vowel signs count as the letters that they belong to."""
    return bool(_NAME.fullmatch(name[:1] + "".join("m" if category(one) in _MARKS else one for one in name[1:])))


class _Reading:
    """The faults found so far in a description whose own presets are looked for in `folder`."""

    def __init__(self, folder: Path):
        self.folder = folder
        self.faults: list[Fault] = []

    def tables(self, kind: str, value: Any) -> Any:
        """Return the models in `value` by the shape of `kind`; None for what is faulty, with its faults."""
        if kind not in NAMED and kind not in LISTED:
            return self._table(kind, (kind,), value)
        if not isinstance(value, dict if kind in NAMED else tuple):
            self.faults.append(not_a_table(kind, (kind,), value))
            return None
        most = counts(Description.model_fields[kind])[1]
        if len(value) > most:
            self.faults.append(Fault(kind, f"there are {len(value)} tables {heading(kind)}: use at most {most}"))
            return None
        if isinstance(value, dict):
            return self._named(kind, value)
        return tuple(self._table(kind, (kind, place), entry) for place, entry in enumerate(value))

    def _named(self, kind: str, value: dict[str, Any]) -> dict[str, Table | None] | None:
        models: dict[str, Table | None] = {}
        own_keys = {*KINDS[kind].model_fields, "use"}
        for name, entry in value.items():
            path = path_text(kind, name)
            if name in own_keys and not isinstance(entry, dict):
                self.faults.append(Fault(path, f"{stands(name, entry)} stands under no name: write {heading(kind)} "
                                               "above it"))
                continue
            models[name] = self._table(kind, (kind, name), entry)
            if not _sound(name):
                models[name] = None
                self.faults.append(Fault(path, f"{value_text(name)} is no good name: use up to 40 letters, digits, "
                                               "spaces, - and _"))
        return models if models or not value else None

    def _table(self, kind: str, steps: Steps, value: Any) -> Table | None:
        """Return the model of one table at path `steps`, or None after adding its faults."""
        if not isinstance(value, dict):
            self.faults.append(not_a_table(kind, steps, value))
            return None
        started, value = self._started(kind, steps, value)
        model, found = judged(steps, KINDS[kind], value, whole=started)
        self.faults += found
        return model if started and not found else None

    def _started(self, kind: str, steps: Steps, value: dict[str, Any]) -> tuple[bool, dict[str, Any]]:
        """Return (True, `value` laid over the preset that it uses), or (False, `value`) and a fault."""
        if "use" not in value or kind in LISTED:
            return True, value
        rest = {key: entry for key, entry in value.items() if key != "use"}
        name, path = value["use"], path_text(*steps, "use")
        own = isinstance(name, str) and name.endswith(OWN)
        if not isinstance(name, str):
            self.faults.append(Fault(path, f"{stands('use', name)}, but the name of a preset belongs there"))
        elif kind not in presets.catalogue() and not own:
            self.faults.append(Fault(path, f"there are no presets for {kind}: delete the line"))
        else:
            place = str(self.folder / name)
            try:
                given = frozen(presets.own(kind, place) if own else presets.read(kind, name))
                told = {other for alike in KINDS[kind].ALIKE if rest.keys() & {*alike} for other in alike}
                return True, {**{key: entry for key, entry in given.items() if key not in told}, **rest}
            except DescriptionError as error:
                self.faults += [Fault(path, f"{printable(place)}: {fault.message}" if own else fault.message)
                                for fault in error.faults]
        return False, rest


def _assembled(data: dict[str, Any], tables: dict[str, Any]) -> tuple[Description | None, list[Fault]]:
    """Return (the whole Description or None, the faults at the top of the file)."""
    broken = {kind for kind, value in tables.items()
              if value is None or any(entry is None for _, entry in _entries(value))}
    parts = {key: tables.get(key, value) for key, value in data.items() if key not in broken}
    try:
        return Description.model_validate(parts), []
    except ValidationError as error:
        errors = [entry for entry in error.errors(include_url=False) if entry["loc"][0] not in broken]
        return None, from_errors((), Description, parts, errors)


def _absent(tables: dict[str, Any]) -> dict[str, Any]:
    """Return the default of every kind that the file leaves out, None for a kind that it must have."""
    return {kind: None if field.is_required() else field.default
            for kind, field in Description.model_fields.items() if kind in KINDS and kind not in tables}


def _entries(value: Any) -> Iterable[tuple[str | int, Any]]:
    """Return the (key, entry) pairs of a dict, (place, entry) of a tuple, nothing of anything else."""
    if isinstance(value, dict):
        return value.items()
    return enumerate(value) if isinstance(value, tuple) else ()


def left_out(table: Table, steps: Steps = ()) -> Iterator[tuple[Steps, Table]]:
    """Yield where every field stands that nobody gave in a table at `steps` or within it, and the table that has it."""
    for name in type(table).model_fields:
        value, path = getattr(table, name), (*steps, name)
        if isinstance(value, Table):
            yield from left_out(value, path)
        elif name not in table.model_fields_set:
            yield path, table
        else:
            for key, entry in _entries(value):
                if isinstance(entry, Table):
                    yield from left_out(entry, (*path, key))
