"""A build that was asked for before: what was written then is written again, without solids or pictures anew."""

from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec import Struct, json
from msgspec.structs import replace

from partgen.describe.description import Description
from partgen.describe.load import digest_as_given
from partgen.export.manifest import BLANK, NAME, earlier
from partgen.export.reprint import with_changes
from partgen.files import put, replaced
from partgen.finding import Finding
from partgen.kept import Store
from partgen.paper.cautions import cautions
from partgen.pipeline import Outcome
from partgen.pipeline.asked import Asked
from partgen.pipeline.places import Place, seen_from

if TYPE_CHECKING:
    from partgen.paper.order import InTime

KIND = "builds"

Wishes = tuple[Any, ...]
"""All that a build hangs on besides the code: the description's digest, and what was asked of it."""


class Whole(Struct, frozen=True):
    """A build as it was written: every file by its path, their records as JSON, what was told, and of one cut short
    the hours and when each wagon would roll."""

    files: dict[str, bytes]
    records: bytes
    findings: tuple[Finding, ...]
    warnings: tuple[str, ...]
    cut: tuple[float, dict[str, float]] | None
    cautions: tuple[tuple[str, str], ...]


def wishes(description: Description, anyway: bool, asked: Asked, hours: float | None) -> Wishes:
    """Return all that a whole build hangs on; of what is `asked` for, whether there are pictures."""
    return digest_as_given(description), anyway, "pictures" in asked.kinds, hours


def again(things: Wishes, checked: Outcome, place: Place, kept: Store) -> Outcome | None:
    """Write what was built of the same `things` before; None where that is not kept, or where somebody has filled in a
    form of the build that stands there, which then stays."""
    whole, target = kept.find(KIND, things, Whole), place.folder
    if whole is None:
        return None
    records = json.decode(whole.records)
    if any(_filled_in(target / one["path"], one[BLANK]) for one in records if BLANK in one):
        return None
    before = earlier(target)
    with replaced(target, place.giving_way) as fresh:
        for name, data in whole.files.items():
            put(fresh / name, with_changes(data.decode(), seen_from(target, place.file), before).encode()
                if name == NAME else data)
    cut = _cut(*whole.cut) if whole.cut else None
    train = checked.train.kept(cut.wagons) if cut else checked.train
    return replace(checked, description=train.description, train=train, findings=whole.findings, folder=target,
                   files=tuple(records), warnings=whole.warnings, cut=cut, cautions=whole.cautions)


def _cut(hours: float, rolls: dict[str, float]) -> "InTime":
    from partgen.paper.order import InTime  # which loads what lays plates
    return InTime(hours, rolls)


def remember(things: Wishes, done: Outcome, asked: Asked, kept: Store) -> Outcome:
    """Keep a build that was written and is complete; return it, as it would be told once more."""
    told = replace(done, cautions=tuple(cautions(done.ride)))
    folder, records = done.folder, list(done.files)
    if folder is None or not done.complete or not asked.everything:
        return told
    names = [NAME, *(one["path"] for one in records)]
    if not any(_filled_in(folder / one["path"], one[BLANK]) for one in records if BLANK in one):
        kept.data(KIND, things, lambda: Whole({name: (folder / name).read_bytes() for name in names},
                                              json.encode(records), done.findings, done.warnings,
                                              (done.cut.hours, done.cut.rolls) if done.cut else None,
                                              told.cautions), Whole)
    return told


def _filled_in(path: Path, blank: str) -> bool:
    """Is there a form that is not as it was written?"""
    return path.is_file() and sha256(path.read_bytes()).hexdigest() != blank
