"""Many trains in one call: each into a folder of its own, and one that cannot be built stops no other.

With an executor each is built whole by one of its workers, on whatever machine: the plan goes there, what was made
comes home and is kept, and the build here goes on as if all had been made before. So nothing has to be shared but code;
where the worker's is another one, its answers count as none.
"""

import os
from collections import Counter
from collections.abc import Iterable, Iterator
from concurrent.futures import Executor, Future
from contextlib import suppress
from pathlib import Path

from msgspec import Struct

from partgen.describe.load import load
from partgen.errors import OutputError, PartgenError
from partgen.kept import Answers, Store, store
from partgen.pipeline import Outcome, Progress, build, check, made_alone, silent
from partgen.pipeline.asked import Asked
from partgen.pipeline.hands import ensure_unforked
from partgen.pipeline.repeat import KIND, wishes
from partgen.scratch import scratch

Results = dict[Path, Outcome | Exception]
"""By file what came of it, or why nothing did."""
Pending = Future[tuple[Answers, Counter[str]]]


class Wished(Struct, frozen=True):
    """What is wished of every train, as `build` has it."""

    anyway: bool = False
    pictures: bool = True
    hours: float | None = None
    asked: Asked = Asked()


ALL = Wished()


def build_all(paths: Iterable[Path], out: Path, wished: Wished = ALL, *, replace_other: bool = False,
              executor: Executor | None = None, progress: Progress = silent) -> Results:
    """Build the train of every file at `paths` into a folder of its own under `out`, whole trains by the workers of an
    `executor` where one is handed in: any will do that sends functions and plain data to processes, but forked ones.

    Of files that give their trains one title only the first is built, of links to one file only the first. What went
    wrong with one, a PartgenError or a fault of the program itself, is its result. Raises WorkersLost for an executor
    of forked processes.
    """
    ensure_unforked(executor)
    called: dict[Path, Path] = {}
    for path in paths:
        called.setdefault(path.resolve(), path)
    unlike = list(called.values())
    found = _unusable(unlike)
    usable = [path for path in unlike if path not in found]
    sent = _sent(usable, wished, executor) if executor else {}
    try:
        for number, path in enumerate(usable):

            def told(what: str, share: float, name: str = path.name, done: int = number) -> None:
                progress(f"{name}: {what}", (done + share) / len(usable))

            told("reading", 0.0)
            found[path] = _one(path, out, wished, replace_other, sent.pop(path, None), told)
    finally:
        for pending in sent.values():
            pending.cancel()
    progress("done", 1.0)
    return {path: found[path] for path in unlike}


def _one(path: Path, out: Path, wished: Wished, replace_other: bool, pending: Pending | None, progress: Progress
         ) -> Outcome | Exception:
    """Build one train, from what comes home of it where it was sent; return why not where that cannot be."""
    try:
        kept = store()
        if pending:
            kept.take(*pending.result())
        return build(path, out, anyway=wished.anyway, pictures=wished.pictures, hours=wished.hours, asked=wished.asked,
                     replace_other=replace_other, kept=kept, progress=progress)
    except Exception as error:
        if os.environ.get("PARTGEN_TRACEBACK") and not isinstance(error, PartgenError):
            raise
        return error


def _unusable(paths: Iterable[Path]) -> Results:
    """Return why files cannot be used: what is wrong with their descriptions, or that one before gives its train the
    same title."""
    found: Results = {}
    titled: dict[str, Path] = {}
    for path in paths:
        try:
            first = titled.setdefault(title := load(path).title, path)
            if first is not path:
                found[path] = OutputError(f'{first} calls its train "{title}" too, and both would go into one folder: '
                                          "give one of them another title")
        except PartgenError as error:
            found[path] = error
    return found


def _sent(paths: Iterable[Path], wished: Wished, executor: Executor) -> dict[Path, Pending]:
    """Send every train to a worker that can be built and is not kept; what is wrong with others is told later."""
    return {path: executor.submit(_away, checked, asked, wished) for path in paths
            for checked, asked in _wanted(path, wished)}


def _wanted(path: Path, wished: Wished) -> Iterator[tuple[Outcome, Asked]]:
    with suppress(PartgenError):
        checked = check(path)
        asked = wished.asked.settled(checked.train, wished.pictures)
        known = store().holds(KIND, wishes(checked.description, wished.anyway, asked, wished.hours))
        if not (checked.refused or checked.failed and not wished.anyway or known):
            yield checked, asked


def _away(checked: Outcome, asked: Asked, wished: Wished) -> tuple[Answers, Counter[str]]:
    """Build a train in a folder that goes again; return the whole build as it is kept, or where there is none all that
    was made for it."""
    kept = Store()
    with scratch() as folder:
        made_alone(checked, folder / "out", wished.anyway, asked, wished.hours, kept)
    whole: Answers = {place: body for place, body in kept.here.items() if place[0] == KIND}
    return whole or kept.here, Counter({KIND: 1}) if whole else kept.made
