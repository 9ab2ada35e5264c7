"""What to print again: a build held against the one whose parts count as printed, piece by piece of the same shape."""

import json
from collections import Counter
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from partgen.errors import OutputError
from partgen.export.manifest import NAME, Record, as_text, earlier
from partgen.files import put
from partgen.scratch import locked

HELD = "held_against"       # in a manifest: what of the build whose parts count as printed is compared with
KIND = "shape", "material", "filament"      # in a part's record: pieces alike in these are one as good as the other

DIFFERENT = "print_again", "new", "more", "over", "gone", "renamed", "ride"

Kind = tuple[str, ...]
Parts = dict[str, tuple[Kind, int]]
"""By a file's path the kind of its pieces and how many there are of them."""


def with_changes(text: str, file: str, before: Record) -> str:
    """Return a manifest's text with the name of the description's `file`, and with what has `changed`, as `changes`
    tells it, against what the manifest of the build `before` it, empty for none, hands on to be held against.

    That is the first whole build in a folder, until `tell_printed` makes it another: so what has to be printed again
    gathers, however many builds lie between. Nothing `changed` where nobody knows, or where the description is that of
    the first build and all comes out as it did.
    """
    body, held = json.loads(text) | {"description_file": file}, before.get(HELD)
    found = changes(body, held) if held else {}
    as_first = not found.get("printed") and found.get("since_description_sha256") == body["description_sha256"]
    body["changed"] = None if not found or (as_first and not any(found[name] for name in DIFFERENT)) else found
    body[HELD] = held or (None if body.get("asked") else _standing(body, printed=False))
    return as_text(body)


def tell_printed(folder: Path) -> None:
    """Note in the manifest of the build in `folder` that its parts are printed and its constants are in the controller:
    later builds are held against those. Raises OutputError where no parts stand there, or it cannot be written."""
    with locked(folder.resolve().parent):       # no build swaps the folder meanwhile
        before = earlier(folder)
        if not _parts(before.get("files", ())):
            raise OutputError(f"{folder} holds no parts that could be printed: build them first, without --printed")
        put(folder / NAME, as_text(before | {HELD: _standing(before, printed=True)}).encode())


def changes(body: Record, held: Record) -> dict[str, Any]:
    """Return how the build of a manifest's `body` differs from the one it is `held` against; every name is a file's
    path with a number of pieces.

    To print are `print_again` (instead of another part of that name), `new` and `more` (there are too few of them);
    `as_printed` are those of the same shape and filament, `renamed` from which path; `over` are pieces too many, `gone`
    those that nothing needs, none of either where not the whole train was asked for. `ride` names the controller's
    figures that are other ones; `printed` says whether the maker told that the build held against is printed.
    """
    now, then = _parts(body["files"]), _parts(held["parts"])
    there, left = _found(now, then)
    known, needed = {kind for kind, _ in then.values()}, {kind: path for path, (kind, _) in now.items()}
    short = {path: count - there[path] for path, (_, count) in now.items() if count > there[path]}
    other = {path: count for path, count in short.items() if now[path][0] not in known}
    again = {path: count for path, count in other.items() if path in then and then[path][0] not in needed}
    gone = {path: count for path, (kind, count) in then.items() if kind not in needed and path not in again}
    over = {needed[kind]: count for kind, count in left.items() if count and kind in needed}
    return {
        "since_description_sha256": held["description_sha256"], "printed": held["printed"],
        "print_again": again,
        "new": {path: count for path, count in other.items() if path not in again},
        "more": {path: count for path, count in short.items() if path not in other},
        "over": over if _whole(body) else {}, "gone": gone if _whole(body) else {},
        "as_printed": {path: count for path, count in there.items() if count},
        "renamed": _renamed(now, then, there),
        "ride": [name for name in sorted(body["ride"].keys() | held["ride"])
                 if body["ride"].get(name) != held["ride"].get(name)]}


def _whole(body: Record) -> bool:
    """Was the whole train built, neither some of its parts nor what can be printed in some hours?"""
    return not body.get("asked") and "left_out" not in (body.get("printing") or {})


def _found(now: Parts, then: Parts) -> tuple[dict[str, int], Counter[Kind]]:
    """Return how many of its pieces every file `now` finds among those of `then`, those of its own name first, and how
    many are left over by kind."""
    left, there = Counter[Kind](), dict.fromkeys(now, 0)
    for kind, count in then.values():
        left[kind] += count
    for path in sorted(now, key=lambda path: path not in then or then[path][0] != now[path][0]):
        kind, count = now[path]
        there[path] = min(count, left[kind])
        left[kind] -= there[path]
    return there, left


def _renamed(now: Parts, then: Parts, there: dict[str, int]) -> dict[str, str]:
    """Return by its path every file whose pieces are there under another path, and that one: where there are several,
    one that is no longer called so."""
    def old(kind: Kind) -> str:
        return min((path for path in then if then[path][0] == kind),
                   key=lambda path: (path in now and now[path][0] == kind, path))
    return {path: old(kind) for path, (kind, _) in now.items()
            if there[path] and (path not in then or then[path][0] != kind)}


def _parts(files: Iterable[Record]) -> Parts:
    """Return the parts among records of files; of an older program's, which tell no shape, none."""
    return {one["path"]: (tuple(one[name] for name in KIND), one["count"])
            for one in sorted(files, key=lambda one: str(one["path"])) if one.get("part") and "shape" in one}


def _standing(body: Record, printed: bool) -> Record:
    """Return of a manifest what later builds are held against."""
    parts = [{name: one[name] for name in ("path", "part", *KIND, "count")} for one in body["files"]
             if one.get("part") and "shape" in one]
    return {"printed": printed, "description_sha256": body["description_sha256"], "ride": body["ride"], "parts": parts}
