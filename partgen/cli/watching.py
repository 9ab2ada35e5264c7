"""A description watched: on every save it is checked, drawn and, where all holds, built; told is what that changed."""

import sys
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from signal import SIGTERM
from time import localtime, perf_counter, sleep, strftime
from typing import TYPE_CHECKING

import click
from msgspec import Struct, field
from msgspec.structs import replace

from partgen import pipeline
from partgen.cli import show, written
from partgen.cli.shell import progress, tell
from partgen.describe.load import sources
from partgen.describe.toml_text import text_at
from partgen.errors import PartgenError
from partgen.export.manifest import NAME
from partgen.finding import Finding, counted, figure
from partgen.identity import Subject

if TYPE_CHECKING:
    from partgen.pipeline import Outcome

NOTED = 0.005           # of a limit, or of the figure where that is larger: less of a change is not worth a line
PAUSE = 0.1             # s between two looks whether something was saved
CLOCK = "%H:%M:%S"
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
    """Look at the description now and after every save, until Ctrl-C, which is how a watch is meant to end.

    Raises DescriptionError where there is no such file.
    """
    if not file.is_file():
        text_at(file)       # says why
    watched = Watched(file, out, building, pictures, replace_other)
    try:
        for _ in saves(file):
            watched.look()
            show.line((f"waiting for {file} to be saved; Ctrl-C ends", "dim"))
    except KeyboardInterrupt:
        if click.get_current_context().meta["interrupted"].number == SIGTERM:
            raise
        show.line("ended")


def saves(file: Path) -> Iterator[None]:
    """Yield at once, and again whenever the description or a preset of the maker's own that it uses was saved, by
    whatever editor and wherever it lies; for saves meanwhile once, too."""
    seen, used = None, frozenset({file})
    while True:
        now = _stamps(used)
        if now != seen:
            sleep(PAUSE)
            if _stamps(used) == now:        # written whole
                with suppress(PartgenError):        # while it cannot be read, what it used before
                    used = sources(file)
                seen = {path: now.get(path, stamp) for path, stamp in _stamps(used).items()}
                yield
        sleep(PAUSE)


def _stamps(files: frozenset[Path]) -> dict[Path, tuple[int, int, int]]:
    """Return of each file that is there what a save changes."""
    found = {}
    for path in files:
        with suppress(OSError, ValueError):     # of a name that no file can have
            stat = path.stat()
            found[path] = stat.st_mtime_ns, stat.st_size, stat.st_ino
    return found


class Watched(Struct):
    """A description under watch, what it goes by, and what was found, where it was drawn and which cautions were told
    when it was looked at last."""

    file: Path
    out: Path
    building: bool
    pictures: bool
    replace_other: bool
    found: "Outcome | None" = None
    folder: Path | None = None
    cautions: set[tuple[str, str]] = field(default_factory=set)

    def look(self) -> None:
        """Check, draw and build the description as it is now; tell what is other than before. One that cannot be used
        changes nothing."""
        try:
            found = self.found = self._checked()
            self._draw(found)
            if self.building and found.failed:
                self._unbuilt("not built")
            elif self.building:
                self._build(found)
        except PartgenError as error:
            click.echo(f"{strftime(CLOCK)}  ", nl=False, err=True)
            tell(error, as_json=False)
            if self.folder:
                show.line(f"{self.folder} stays as it was")

    def _checked(self) -> "Outcome":
        start, before = perf_counter(), self.found
        found = pipeline.check(self.file)
        title = found.train.description.title
        show.line((f"{strftime(CLOCK)}  {title}", "bold"), f": {show.summary(found.findings)} {_since(start)}")
        if before:
            _told(before.findings, found.findings)
        else:
            show.findings([one for one in found.findings if one.verdict != "pass"] or found.findings, title)
        return found

    def _draw(self, found: "Outcome") -> None:
        start = perf_counter()
        drawn = pipeline.draw(self.file, self.out, replace_other=self.replace_other, checked=found)
        assert drawn.folder
        before, self.folder = self.folder, drawn.folder.parent
        if before and before != self.folder:
            show.line(f"another title, another folder: {before} stays as it was")
        show.line(f"drawn: {drawn.folder} {_since(start)}")

    def _build(self, found: "Outcome") -> None:
        start = perf_counter()
        try:
            with progress(quiet=not sys.stderr.isatty()) as step:
                made = pipeline.build(self.file, self.out, pictures=self.pictures, replace_other=self.replace_other,
                                      checked=found, progress=step)
        except (KeyboardInterrupt, PartgenError):
            self._unbuilt("build not finished")
            raise
        if made.failed:
            show.findings([one for one in made.findings if one.verdict == "fail"], "what fails of the parts")
        written.built(replace(made, cautions=tuple(one for one in made.cautions if one not in self.cautions)))
        self.cautions.update(made.cautions)
        if made.folder:
            show.line(f"built {_since(start)}")
        else:
            self._unbuilt("not built")

    def _unbuilt(self, word: str) -> None:
        """Say of when the parts in the folder are, which are not those that are drawn now, and what may help."""
        record = (self.folder or self.out) / NAME
        parts = (f"the parts in {self.folder} were built at {_when(record)}" if record.is_file()
                 else "there are no parts yet")
        failing = f"; `partgen mend {self.file}` looks for changes that help" if word == "not built" else ""
        show.line((word, "yellow"), f": {parts}{failing}")


def _when(path: Path) -> str:
    """Return when a file was written, with the day where that is not today."""
    at = localtime(path.stat().st_mtime)
    return strftime(CLOCK if at[:3] == localtime()[:3] else f"%Y-%m-%d {CLOCK}", at)


def _since(start: float) -> str:
    return f"({perf_counter() - start:.1f} s)"


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
        show.line(f"and {counted(len(changed) - SHOWN, 'more figure')}")
