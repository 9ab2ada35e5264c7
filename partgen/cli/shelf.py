"""Presets shown, and the starter description written."""

import json
from difflib import get_close_matches
from pathlib import Path

from partgen.describe import presets
from partgen.describe.starter import starter
from partgen.errors import DescriptionError, Fault, OutputError
from partgen.files import put


def listing(name: str | None, as_json: bool) -> str:
    """Return all presets by kind, or the file of the one called `name` ("name" or "kind/name")."""
    if name is not None:
        return _shown(name, as_json)
    entries = [(kind, one, presets.source(kind, one)) for kind, names in presets.catalogue().items() for one in names]
    if as_json:
        return json.dumps({"presets": [dict(zip(("kind", "name", "source"), entry)) for entry in entries]},
                          ensure_ascii=False)
    lines, last = [], None
    width = max(len(one) for _, one, _ in entries)
    for kind, one, source in entries:
        lines += ([""] if last else []) + [kind] if kind != last else []
        lines.append(f"  {one:<{width}}  {source}")
        last = kind
    return "\n".join(lines)


def _shown(name: str, as_json: bool) -> str:
    wanted, known = name.split("/")[-1], presets.catalogue()
    kind = name.split("/")[0] if "/" in name else None
    hits = [(k, path) for k, names in known.items() for n, path in names.items() if n == wanted and kind in (None, k)]
    if not hits:
        near = get_close_matches(wanted, [n for names in known.values() for n in names], 3)
        hint = f"; near it: {', '.join(near)}" if near else "; `partgen presets` lists them all"
        raise DescriptionError([Fault("", f"no preset is called {name!r}{hint}")])
    if as_json:
        return json.dumps({"presets": [{"kind": k, "name": wanted, "source": presets.source(k, wanted),
                                        "values": presets.read(k, wanted)} for k, _ in hits]}, ensure_ascii=False)
    return "\n\n".join(path.read_text(encoding="utf-8").strip() for _, path in hits)


def write_new(file: Path, demo: str | None, overwrite: bool) -> None:
    """Write the starter description to `file`, complete or not at all; an existing file stays unless told."""
    if file.exists() and not overwrite:
        raise OutputError(f"{file} is there already: choose another name, or say --overwrite")
    if not file.parent.is_dir():
        raise OutputError(f"{file} cannot be written (there is no folder {file.parent}): choose another place")
    put(file, starter(demo).encode(), "choose another place")
