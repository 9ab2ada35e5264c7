"""A description watched: on every save it is checked, drawn and, where all holds, built; told is what that changed."""

from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from time import perf_counter, strftime
from typing import TYPE_CHECKING

from msgspec import Struct

from partgen import pipeline
from partgen.cli import show, written
from partgen.cli.shell import tell
from partgen.errors import PartgenError
from partgen.finding import Finding, figure
from partgen.identity import Subject

if TYPE_CHECKING:
    from partgen.pipeline import Outcome

NOTED = 0.005           # of a limit, or of the figure where that is larger: less of a change is not worth a line
SHOWN = 14              # lines at most, the nearest to their limits first
HEADINGS = (("check", False), ("at", False), ("was", True), ("is", True), ("", False), ("limit", True),
            ("unit", False), ("verdict", False))


class Change(Struct, frozen=True):
    """One verdict before and after a save; None where there was or is none."""

    before: Finding | None
    after: Finding | None

    @property
    def here(self) -> Finding:
        """The newer one that there is."""
        found = self.after or self.before
        assert found
        return found

    @property
    def turned(self) -> bool:
        """Is the verdict another one?"""
        return not self.before or not self.after or self.before.verdict != self.after.verdict

    @property
    def cells(self) -> tuple[show.Piece, ...]:
        """The line that tells it."""
        one = self.here
        was, now = (figure(each.value) if each else "" for each in (self.before, self.after))
        held = dict.fromkeys(show.limit(each) for each in (self.before, self.after) if each)
        said = show.SIGN[self.after.verdict] if self.after else "gone"
        return (one.check, str(one.subject), was, now, show.sense(one), " -> ".join(held), show.unit(one),
                (said, show.COLOUR[one.verdict] if self.after else "dim"))


def changes(before: tuple[Finding, ...], after: tuple[Finding, ...]) -> list[Change]:
    """Return every verdict that is another one, or whose figure or limit has moved noticeably: those that turned first,
    then the nearest to their limits."""
    old, new = (_numbered(found) for found in (before, after))
    found = [Change(old.get(key), new.get(key)) for key in dict.fromkeys((*new, *old))]
    return sorted((one for one in found if one.turned or _moved(one)),
                  key=lambda one: (not one.turned, one.here.verdict == "pass", one.here.share))


def _numbered(found: tuple[Finding, ...]) -> dict[tuple[str, Subject, int], Finding]:
    """Return findings by check and who is meant, those alike numbered."""
    count = Counter[tuple[str, Subject]]()
    keyed = {}
    for one in found:
        count[one.check, one.subject] += 1
        keyed[one.check, one.subject, count[one.check, one.subject]] = one
    return keyed


def _moved(one: Change) -> bool:
    was, now = one.before, one.after
    if not was or not now:
        return True
    largest = max(abs(now.limit), abs(now.value), abs(was.value))
    return (was.sense, was.unlimited) != (now.sense, now.unlimited) or NOTED * largest < max(
        abs(now.value - was.value), 0.0 if now.unlimited else abs(now.limit - was.limit))


def watch(file: Path, out: Path, building: bool, pictures: bool, replace_other: bool) -> None:
    """Look at the description now and after every save, until Ctrl-C."""
    before: Outcome | None = None
    for _ in saves(file):
        before = look(file, out, building, pictures, replace_other, before)
        show.line((f"waiting for {file} to be saved; Ctrl-C ends", "dim"))


def saves(file: Path) -> Iterator[None]:
    """Yield at once, and again whenever a description or preset beside the file was saved, by whatever editor."""
    from watchfiles import watch as watched
    yield
    for _ in watched(file.resolve().parent, watch_filter=lambda _, path: path.endswith(".toml"), recursive=False):
        yield


def look(file: Path, out: Path, building: bool, pictures: bool, replace_other: bool,
         before: "Outcome | None") -> "Outcome | None":
    """Check, draw and build the description as it is now; tell what is other than `before`, and return what was
    found. A description that cannot be used changes nothing."""
    start = perf_counter()
    try:
        found = pipeline.check(file)
        show.line((f"{strftime('%H:%M:%S')}  {found.train.description.title}", "bold"),
                  f": {show.summary(found.findings)} ({perf_counter() - start:.1f} s)")
        if before:
            _told(before.findings, found.findings)
        else:
            show.findings([one for one in found.findings if one.verdict != "pass"] or found.findings,
                          found.train.description.title)
        drawn = pipeline.draw(file, out, replace_other=replace_other, checked=found)
        show.line(f"drawn: {drawn.folder} ({perf_counter() - start:.1f} s)")
        if building and not found.failed:
            made = pipeline.build(file, out, pictures=pictures, replace_other=replace_other, checked=found)
            if made.failed:
                show.findings([one for one in made.findings if one.verdict == "fail"], "what fails of the parts")
            written.built(made)
            if made.folder:
                show.line(f"built ({perf_counter() - start:.1f} s)")
        return found
    except PartgenError as error:
        tell(error, as_json=False)
        return before


def _told(before: tuple[Finding, ...], after: tuple[Finding, ...]) -> None:
    changed = changes(before, after)
    if not changed:
        show.line("no verdict and no figure has changed" if before == after else
                  f"no verdict has changed, and no figure or limit by more than {NOTED:.1%}")
        return
    show.table("what the save changed", HEADINGS, [one.cells for one in changed[:SHOWN]])
    for one in [one for one in changed if one.turned and one.after and one.after.reason][:SHOWN]:
        show.line((one.here.check, show.COLOUR[one.here.verdict]), f" of {one.here.subject}: {one.here.reason}")
    if len(changed) > SHOWN:
        show.line(f"and {len(changed) - SHOWN} figures more")
