"""Findings and files on a terminal; rich is imported only where a terminal is drawn on."""

from collections import Counter

import click

from partgen.finding import Finding, worst

COLOUR = {"pass": "green", "warn": "yellow", "fail": "bold red"}
SIGN = {"pass": "holds", "warn": "close", "fail": "fails"}
HEADINGS = (("check", "left"), ("tightest at", "left"), ("found", "right"), ("", "left"), ("limit", "right"),
            ("unit", "left"), ("verdict", "left"))


def console(stderr: bool = False):
    """Return a rich console; NO_COLOR and pipes are honoured by rich itself."""
    from rich.console import Console
    return Console(stderr=stderr, highlight=False)


HEADINGS = (("check", "left"), ("tightest at", "left"), ("found", "right"), ("", "left"), ("limit", "right"),
            ("unit", "left"), ("verdict", "left"))


def findings(found, title: str, every: bool = False) -> None:
    """Print a table of findings, the tightest of each check or all of them, and what to do where one fails.

    A pipe gets the table uncut and uncoloured, without loading what draws it on a terminal.
    """
    groups = [[finding] for finding in found] if every else grouped(found)
    headings = [("what" if every and name == "tightest at" else name, side) for name, side in HEADINGS]
    write = _drawn if click.get_text_stream("stdout").isatty() else _written
    write(title, headings, groups, [finding for finding in found if finding.remedy])
    click.echo(summary(found))


def _drawn(title, headings, groups, to_mend):
    """Draw the table on a terminal, as wide as that is."""
    from rich.table import Table
    table = Table(title=title, title_justify="left", title_style="bold", box=None, pad_edge=False,
                  padding=(0, 1, 0, 0))
    for name, side in headings:
        table.add_column(name, justify=side, no_wrap=True, header_style="dim")
    for group in groups:
        *cells, said = _row(group)
        table.add_row(*cells, f"[{COLOUR[worst(group)]}]{said}[/]")
    screen = console()
    screen.print(table)
    for finding in to_mend:
        screen.print(f"[{COLOUR[finding.verdict]}]{finding.check}[/] of {finding.subject}: {finding.remedy}",
                     soft_wrap=True)


def _written(title, headings, groups, to_mend):
    """Write the same as plain text, column under column."""
    names, sides = zip(*headings)
    rows = [names, *map(_row, groups)]
    widths = [max(map(len, column)) for column in zip(*rows)]
    click.echo(title)
    for row in rows:
        cells = (cell.rjust(width) if side == "right" else cell.ljust(width)
                 for cell, side, width in zip(row, sides, widths))
        click.echo(" ".join(cells).rstrip())
    for finding in to_mend:
        click.echo(f"{finding.check} of {finding.subject}: {finding.remedy}")


def grouped(found) -> list[list[Finding]]:
    """Return the findings check by check, the one with the smallest margin first."""
    checks: dict[str, list[Finding]] = {}
    for finding in found:
        checks.setdefault(finding.check, []).append(finding)
    return [sorted(group, key=lambda finding: finding.margin) for group in checks.values()]


def summary(found) -> str:
    """Return one line that counts the verdicts."""
    count = Counter(finding.verdict for finding in found)
    words = [f"{count['pass']} hold", f"{count['warn']} close", f"{count['fail']} fail"]
    return f"{len(found)} checks: " + ", ".join(w for w in words if not w.startswith("0 ") or "fail" in w)


def _row(group: list[Finding]):
    """Return the cells for the tightest of a group, and how its whole group fares."""
    finding, verdict = group[0], worst(group)
    alike = sum(one.verdict == verdict for one in group)
    said = SIGN[verdict] + (f" ({alike})" if alike == len(group) > 1 else f" ({alike} of {len(group)})" if len(group) > 1 else "")
    sense = "<=" if finding.sense == "max" else ">="
    return (finding.check, str(finding.subject), figure(finding.value), sense, figure(finding.limit),
            "" if finding.unit == "1" else finding.unit, said)


def figure(value: float) -> str:
    """Return a number short enough to read: whole where it is whole, else two places."""
    if float(value).is_integer() or abs(value) < 1e-6:
        return f"{value + 0.0:.0f}".replace("-0", "0") if abs(value) < 1 else f"{value:.0f}"
    return f"{value:.2f}" if abs(value) >= 0.01 else f"{value:.4f}"


def closing(outcome) -> str:
    """Return the line that ends a build: what was written, or that nothing was."""
    if outcome.folder is None:
        return "nothing written: mend what fails above, or build with --anyway" if not _refused(outcome) else \
            "nothing written: mend what fails above"
    parts = [record for record in outcome.files if record["part"]]
    pieces = sum(record["count"] for record in parts)
    mass = sum(record["mass_g"] * record["count"] for record in parts)
    marked = ", marked as failing" if outcome.failed else ""
    return f"{outcome.folder}: {len(parts)} STL files for {pieces} pieces, {mass:.0f} g in all{marked}"


def _refused(outcome) -> bool:
    return any(plan.refusals for plan in outcome.train.wagons)


def cautions(description) -> None:
    """Print the cautions that this train calls for."""
    from partgen.paper.cautions import cautions as those_of
    screen = console()
    for title, text in those_of(description):
        screen.print(f"[yellow]{title}.[/] {text}", soft_wrap=True)
