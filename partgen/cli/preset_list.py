"""Presets shown, and the starter description written."""

import json
from difflib import get_close_matches
from pathlib import Path

from partgen.describe import presets
from partgen.describe.starter import starter
from partgen.errors import OutputError, PresetError
from partgen.files import put


def every(as_json: bool) -> str:
    """Return all presets by kind with their sources."""
    known = presets.catalogue()
    if as_json:
        return json.dumps({"presets": [{"kind": kind, "name": name, "source": presets.source(kind, name)}
                                       for kind, names in known.items() for name in names]}, ensure_ascii=False)
    width = max(len(name) for names in known.values() for name in names)
    blocks = ([kind, *(f"  {name:<{width}}  {presets.source(kind, name)}" for name in names)]
              for kind, names in known.items())
    return "\n\n".join("\n".join(block) for block in blocks)


def one(asked: str, as_json: bool) -> str:
    """Return the file of the preset called "name" or "kind/name"; PresetError when there is none."""
    *kind, name = asked.split("/")
    known = presets.catalogue()
    hits = {one: names[name] for one, names in known.items() if name in names and kind in ([], [one])}
    if not hits:
        near = get_close_matches(name, [one for names in known.values() for one in names], 3)
        hint = f"near it: {', '.join(near)}" if near else "`partgen presets` lists them all"
        raise PresetError(f"no preset is called {asked!r}; {hint}")
    if as_json:
        return json.dumps({"presets": [{"kind": kind, "name": name, "source": presets.source(kind, name),
                                        "values": presets.read(kind, name)} for kind in hits]}, ensure_ascii=False)
    return "\n\n".join(path.read_text(encoding="utf-8").strip() for path in hits.values())


def write_new(file: Path, demo: str | None, overwrite: bool) -> None:
    """Write the starter description to `file`, complete or not at all; an existing file stays unless told."""
    if file.exists() and not overwrite:
        raise OutputError(f"{file} is there already: choose another name, or say --overwrite")
    if not file.parent.is_dir():
        raise OutputError(f"{file} cannot be written (there is no folder {file.parent}): choose another place")
    put(file, starter(demo).encode(), "choose another place")
