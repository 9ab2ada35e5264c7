"""Where a train's files go, and what of what stands there they may replace: one rule for build, draw and watch."""

import os
from pathlib import Path

from msgspec import Struct

from partgen.describe.description import Description
from partgen.describe.load import digest
from partgen.errors import OutputError
from partgen.export.manifest import DRAWINGS, NAME, earlier, written
from partgen.files import ensure_replaceable, ensure_room
from partgen.identity import title_stem

LEAST = 10_000_000      # bytes that a build takes: a wagon's STEP files alone take most of them


def folder_of(title: str, out: Path) -> Path:
    """Return the folder under `out` for the train of that title: never one that holds the train of another title, or
    drawings of it."""
    target = out / title_stem(title)
    alone = all(earlier(place).get("title", title) == title for place in (target, target / DRAWINGS))
    return target if alone else out / title_stem(title, alone=False)


class Place(Struct, frozen=True):
    """The `folder` of the train that the `file` describes, where another file's train of the same title may be replaced
    or not."""

    folder: Path
    description: Description
    file: Path
    replace_other: bool = False

    def giving_way(self) -> frozenset[str]:
        """Return the paths within the folder that give way to a build: all of the build before it, and drawings of
        another train. Raises OutputError where another train is there that may not be replaced."""
        self.ensure_ours()
        drawings = self.folder / DRAWINGS
        theirs = written(earlier(drawings)) if self._is_other(drawings) else ()
        return written(earlier(self.folder)) | {f"{DRAWINGS}/{name}" for name in theirs}

    def giving_way_to_drawings(self) -> frozenset[str]:
        """Return the paths within the folder's drawings that give way to new ones, and raise likewise."""
        self.ensure_ours()
        return written(earlier(self.folder / DRAWINGS))

    def others_build(self) -> frozenset[str]:
        """Return the paths within the folder of the build of another train."""
        return written(earlier(self.folder)) if self._is_other(self.folder) else frozenset()

    def ensure_ours(self) -> None:
        """Raise OutputError where the folder holds the build or drawings of another train that may not be replaced."""
        other = next(filter(self._is_other, (self.folder, self.folder / DRAWINGS)), None)
        if other and not self.replace_other:
            theirs = earlier(other)["description_file"]
            where = os.path.normpath(other.resolve() / theirs) if "/" in theirs else theirs
            raise OutputError(f"{other} holds the train of {where}, which has the same title as that of {self.file}: "
                              "give one of them another title, name another folder with -o, or say --replace, also "
                              "where it is one file that was both changed and moved")

    def _is_other(self, holder: Path) -> bool:
        """Does a manifest in the folder `holder`, if there is one, tell of another train?"""
        before = earlier(holder)
        theirs = before.get("description_file")
        here = seen_from(holder, self.file)
        alike = not theirs or theirs == (here if "/" in theirs else self.file.name)
        return not alike and before["description_sha256"] != digest(self.description)


def ensure_place(description: Description, file: Path, out: Path, replace_other: bool, drawings: bool = False) -> Place:
    """Return the place under `out` of the train that the `file` describes. Raise OutputError at once, before any work,
    when it cannot be built, or its `drawings` drawn there: when there is no room, or when the folder holds the build or
    drawings of another train.

    The same file changed is the same train; another file with the same title is another, also one called alike in
    another folder, unless both describe the same or it is wished to `replace_other`.
    """
    ensure_room(out)        # which also puts back what a killed run had moved aside
    place = Place(folder_of(description.title, out), description, file, replace_other)
    target = place.folder / DRAWINGS if drawings else place.folder
    before = earlier(target)
    if not before and os.path.lexists(target / NAME):
        raise OutputError(f"{target / NAME} is of no earlier build: move it away, or name another folder with -o")
    place.ensure_ours()
    ensure_replaceable(target, 0 if drawings else max(LEAST, sum(one["bytes"] for one in before.get("files", ()))))
    return place


def seen_from(folder: Path, file: Path) -> str:
    """Return the path of a description's file as seen from a folder of its train: both may move together."""
    there = os.path.join(os.path.realpath(file.parent), file.name)
    try:
        return Path(os.path.relpath(there, os.path.realpath(folder))).as_posix()
    except ValueError:      # on another drive, as Windows has them
        return Path(there).as_posix()
