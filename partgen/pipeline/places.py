"""Where a train's files go, and what of what stands there they may replace: one rule for build, draw and watch."""

import os
from pathlib import Path

from partgen.describe.description import Description
from partgen.describe.load import digest
from partgen.errors import OutputError
from partgen.export.manifest import DRAWINGS, NAME, Record, earlier, written
from partgen.files import ensure_replaceable, ensure_room
from partgen.identity import title_stem

LEAST = 10_000_000      # bytes that a build takes: a wagon's STEP files alone take most of them


def folder_of(title: str, out: Path) -> Path:
    """Return the folder under `out` for the train of that title: never one that holds the train of another title, or
    drawings of it."""
    target = out / title_stem(title)
    alone = all(earlier(place).get("title", title) == title for place in (target, target / DRAWINGS))
    return target if alone else out / title_stem(title, alone=False)


def ensure_place(description: Description, file: str, out: Path, replace_other: bool, drawings: bool = False) -> None:
    """Raise OutputError at once, before any work, when the train that the `file` of that name describes cannot be built
    into its folder under `out`, or its `drawings` drawn there: when there is no room, or when the folder holds the
    build or drawings of another train.

    The same file changed is the same train; another file with the same title is another, unless both describe the same
    or it is wished to `replace_other`.
    """
    ensure_room(out)        # which also puts back what a killed run had moved aside
    folder = folder_of(description.title, out)
    target = folder / DRAWINGS if drawings else folder
    before = earlier(target)
    if not before and os.path.lexists(target / NAME):
        raise OutputError(f"{target / NAME} is of no earlier build: move it away, or name another folder with -o")
    other = next((one for one in (folder, folder / DRAWINGS) if _is_other(earlier(one), description, file)), None)
    if other and not replace_other:
        theirs = earlier(other)["description_file"]
        raise OutputError(f"{other} holds the train of {theirs}, which has the same title as that of {file}: "
                          "give one of them another title, name another folder with -o, or say --replace")
    ensure_replaceable(target, 0 if drawings else max(LEAST, sum(one["bytes"] for one in before.get("files", ()))))


def giving_way(target: Path, description: Description, file: str) -> frozenset[str]:
    """Return the paths within the `target` of a build that give way to the train which the `file` of that name
    describes: all of the build before it, and drawings of another train."""
    drawn = earlier(target / DRAWINGS)
    theirs = written(drawn) if _is_other(drawn, description, file) else ()
    return written(earlier(target)) | {f"{DRAWINGS}/{name}" for name in theirs}


def others_build(folder: Path, description: Description, file: str) -> frozenset[str]:
    """Return the paths within `folder` of the build of another train than the `file` of that name describes."""
    before = earlier(folder)
    return written(before) if _is_other(before, description, file) else frozenset()


def _is_other(before: Record, description: Description, file: str) -> bool:
    """Does a manifest, empty for none, tell of another train?"""
    theirs = before.get("description_file") or file
    return theirs != file and before["description_sha256"] != digest(description)
