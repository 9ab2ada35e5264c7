"""A build that was asked for before: what was written then is written again, without solids or pictures anew."""

import os
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec import Struct, json
from msgspec.structs import replace

from partgen.describe.load import digest
from partgen.errors import OutputError
from partgen.export.manifest import BLANK, DRAWINGS, NAME, earlier, with_changes, written
from partgen.files import ensure_replaceable, ensure_room, put, replaced
from partgen.finding import Finding
from partgen.identity import title_stem
from partgen.kept import Store
from partgen.paper.cautions import cautions
from partgen.pipeline import Outcome

if TYPE_CHECKING:
    from partgen.paper.order import InTime

KIND = "builds"
LEAST = 10_000_000      # bytes that a build takes: a wagon's STEP files alone take most of them

Wishes = tuple[Any, ...]
"""All that a build hangs on besides the code: the description, and what was asked of it."""


class Whole(Struct, frozen=True):
    """A build as it was written: every file by its path, their records as JSON, what was told, and of one cut short
    the hours and when each wagon would roll."""

    files: dict[str, bytes]
    records: bytes
    findings: tuple[Finding, ...]
    warnings: tuple[str, ...]
    cut: tuple[float, dict[str, float]] | None
    cautions: tuple[tuple[str, str], ...]


def folder_of(title: str, out: Path) -> Path:
    """Return the folder under `out` for the train of that title: never one that holds the train of another title, or
    drawings of it."""
    target = out / title_stem(title)
    alone = all(earlier(place).get("title", title) == title for place in (target, target / DRAWINGS))
    return target if alone else out / title_stem(title, alone=False)


def ensure_place(checked: Outcome, out: Path, replace_other: bool) -> None:
    """Raise OutputError at once, before any work, when what was `checked` cannot be built into its folder under `out`:
    when there is no room, or when the folder holds another train.

    The same file changed is the same train; another file with the same title is another, unless both describe the same
    or it is wished to `replace_other`.
    """
    ensure_room(out)        # which also puts back what a killed run had moved aside
    target = folder_of(checked.description.title, out)
    before = earlier(target)
    if not before and os.path.lexists(target / NAME):
        raise OutputError(f"{target / NAME} is of no earlier build: move it away, or name another folder with -o")
    theirs = before.get("description_file", checked.file)
    if theirs != checked.file and before["description_sha256"] != digest(checked.description) and not replace_other:
        raise OutputError(f"{target} holds the train of {theirs}, which has the same title as that of {checked.file}: "
                          "give one of them another title, name another folder with -o, or say --replace")
    ensure_replaceable(target, max(LEAST, sum(one["bytes"] for one in before.get("files", ()))))


def again(wishes: Wishes, checked: Outcome, out: Path, kept: Store) -> Outcome | None:
    """Write what was built of the same `wishes` before; None where that is not kept, or where somebody has filled in a
    form of the build that stands there, which then stays."""
    whole, target = kept.find(KIND, wishes, Whole), folder_of(checked.description.title, out)
    if whole is None:
        return None
    records = json.decode(whole.records)
    if any(_filled_in(target / one["path"], one[BLANK]) for one in records if BLANK in one):
        return None
    before = earlier(target)
    with replaced(target, written(before)) as fresh:
        for name, data in whole.files.items():
            put(fresh / name, with_changes(data.decode(), checked.file, before).encode() if name == NAME
                else data)
    cut = _cut(*whole.cut) if whole.cut else None
    train = checked.train.kept(cut.wagons) if cut else checked.train
    return replace(checked, description=train.description, train=train, findings=whole.findings, folder=target,
                   files=tuple(records), warnings=whole.warnings, cut=cut, cautions=whole.cautions)


def _cut(hours: float, rolls: dict[str, float]) -> "InTime":
    from partgen.paper.order import InTime  # which loads what lays plates
    return InTime(hours, rolls)


def remember(wishes: Wishes, done: Outcome, kept: Store) -> Outcome:
    """Keep a build that was written and is complete; return it, as it would be told once more."""
    told = replace(done, cautions=tuple(cautions(done.ride)))
    folder, records = done.folder, list(done.files)
    if folder is None or not done.complete:
        return told
    names = [NAME, *(one["path"] for one in records)]
    if not any(_filled_in(folder / one["path"], one[BLANK]) for one in records if BLANK in one):
        kept.data(KIND, wishes, lambda: Whole({name: (folder / name).read_bytes() for name in names},
                                              json.encode(records), done.findings, done.warnings,
                                              (done.cut.hours, done.cut.rolls) if done.cut else None,
                                              told.cautions), Whole)
    return told


def _filled_in(path: Path, blank: str) -> bool:
    """Is there a form that is not as it was written?"""
    return path.is_file() and sha256(path.read_bytes()).hexdigest() != blank
