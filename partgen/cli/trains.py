"""What a build of several files says: of each what is wrong with it, then a table of all."""

import json
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

from partgen.cli import show
from partgen.cli.shell import OWN_FAULT, fault_of_its_own, faults_of, tell
from partgen.errors import PartgenError
from partgen.finding import counted

if TYPE_CHECKING:
    from partgen.pipeline import Outcome
    from partgen.pipeline.many import Results

HEADINGS = (("file", False), ("train", False), ("checks", False), ("", False), ("folder", False))


def told(found: "Results", record: "Callable[[Outcome], dict[str, Any]]", as_json: bool) -> int:
    """Print what came of every file, as JSON with the `record` of each or in words; return the exit code, the gravest
    of all."""
    if as_json:
        click.echo(json.dumps({"trains": [{"file": str(path)} | (
            faults_of(one) if isinstance(one, Exception) else record(one)) for path, one in found.items()]},
            ensure_ascii=False))
        return max(map(_code, found.values()), default=0)
    cautions: dict[tuple[str, str], None] = {}
    for path, one in found.items():
        if isinstance(one, Exception):
            click.echo(f"{path}:", err=True)
            tell(one, as_json=False) if isinstance(one, PartgenError) else fault_of_its_own(one)
            continue
        cautions |= dict.fromkeys(one.cautions)
        show.notes(f"{path}: {note}" for note in one.warnings)
        for finding in [finding for finding in one.findings if finding.verdict == "fail"]:
            show.line(f"{path}: ", (finding.check, show.COLOUR["fail"]), f" of {finding.subject}: {finding.reason}")
    for title, text in cautions:
        show.line((f"{title}.", "yellow"), f" {text}")
    title = f"{counted(len(found), 'file')}; `partgen check FILE` tells what mends a check that fails"
    show.table(title, HEADINGS, [(str(path), *_row(one)) for path, one in found.items()], gap=2)
    return max(map(_code, found.values()), default=0)


def _row(one: "Outcome | Exception") -> tuple[show.Piece, ...]:
    """Return the cells of what came of a file."""
    if isinstance(one, Exception):
        return "", "", ("not built, for the reason above", show.COLOUR["fail"]), ""
    word = "not built" if not one.folder else "built though checks fail" if one.failed else "built"
    return (one.train.description.title, show.summary(one.findings),
            (word, show.COLOUR["fail" if one.failed else "pass"]), str(one.folder or ""))


def _code(one: "Outcome | Exception") -> int:
    if isinstance(one, Exception):
        return one.exit_code if isinstance(one, PartgenError) else OWN_FAULT
    return int(one.failed)
