"""What `mend` says: the changes as a table, or as JSON."""

import json
from pathlib import Path

import click

from partgen.cli.show import line, table
from partgen.finding import counted
from partgen.remedies.mend import Mended
from partgen.remedies.words import costs_of, said
from partgen.remedies.workbench import Workbench

HEADINGS = (("", True), ("change", False), ("mends", False))
MOST = 3        # findings named that a change mends; JSON names all


def show(bench: Workbench, found: Mended, file: Path, written: bool, as_json: bool) -> None:
    """Print the changes of a description that were found, what each is for, and what still fails."""
    train, after = bench.train(()), bench.train(found.edits)
    assert train is not None and after is not None
    costs = costs_of(train, after)
    if as_json:
        edits = [{**one.record(), "to_measure": one in found.facts, "why": ", ".join(why)}
                 for one, why in zip(found.edits, found.why, strict=True)]
        click.echo(json.dumps({"title": train.description.title, "edits": edits, "holds": found.holds,
                               "costs": costs.record(),
                               "left": [one.record() for one in found.left]}, ensure_ascii=False))
        return
    rows = [(str(number), said(bench, one), _few(why))
            for number, (one, why) in enumerate(zip(found.edits, found.why, strict=True), 1)]
    if rows:
        table(f"{train.description.title}: {counted(len(rows), 'change')}", HEADINGS, rows, gap=2)
        line(f"together: {costs.words}" if costs.words else "together they cost no length, filament or time to print")
    for one in found.left:
        line((one.check, "bold red"), f" of {one.subject} still fails: {one.reason}")
    click.echo(_closing(found, file, written))


def _few(mends: tuple[str, ...]) -> str:
    more = f" and {len(mends) - MOST} more" if len(mends) > MOST else ""
    return ", ".join(mends[:MOST]) + more


def _closing(found: Mended, file: Path, written: bool) -> str:
    late = "" if found.in_time else " in the time given: --seconds gives more"
    if not found.holds:
        left = f"{counted(len(found.left), 'check')} still {'fails' if len(found.left) == 1 else 'fail'}"
        return f"{left}; no change found that mends more{late}" + (
            f"; what was found is in {file}" if written and found.choices else "")
    if not found.edits:
        return "every check holds: nothing to mend"
    if found.facts:
        done = f"; the other changes are in {file}" if written and found.choices else ""
        return f"then every check holds, if it measures so: measure it first and write in what it is{done}"
    return f"{file} changed: every check holds" if written else (
        f"then every check holds; `partgen mend {file} --write` makes these changes")
