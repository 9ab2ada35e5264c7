"""Findings and files on a terminal; rich is imported only where a table is drawn."""

from collections import Counter

from partgen.finding import Finding

COLOUR = {"pass": "green", "warn": "yellow", "fail": "bold red"}
SIGN = {"pass": "holds", "warn": "close", "fail": "fails"}


def console(stderr: bool = False):
    """Return a rich console; NO_COLOR and pipes are honoured by rich itself."""
    from rich.console import Console
    return Console(stderr=stderr, highlight=False)


def findings(found, title: str) -> None:
    """Print a table of findings and, below it, what to do about those that do not hold."""
    from rich.table import Table
    table = Table(title=title, title_justify="left", title_style="bold", box=None, pad_edge=False,
                  padding=(0, 2, 0, 0))
    for heading, justify in (("check", "left"), ("what", "left"), ("found", "right"), ("", "left"),
                             ("limit", "right"), ("unit", "left"), ("verdict", "left")):
        table.add_column(heading, justify=justify, no_wrap=True, header_style="dim")
    for finding in found:
        table.add_row(*_row(finding))
    screen = console()
    screen.print(table)
    for finding in found:
        if finding.remedy:
            screen.print(f"[{COLOUR[finding.verdict]}]{finding.check}[/] of {finding.subject}: {finding.remedy}",
                         soft_wrap=True)
    screen.print(summary(found))


def summary(found) -> str:
    """Return one line that counts the verdicts."""
    count = Counter(finding.verdict for finding in found)
    words = [f"{count['pass']} hold", f"{count['warn']} close", f"{count['fail']} fail"]
    return f"{len(found)} checks: " + ", ".join(w for w in words if not w.startswith("0 ") or "fail" in w)


def _row(finding: Finding):
    colour = COLOUR[finding.verdict]
    sense = "<=" if finding.sense == "max" else ">="
    return (finding.check, finding.subject, figure(finding.value), sense, figure(finding.limit),
            "" if finding.unit == "1" else finding.unit, f"[{colour}]{SIGN[finding.verdict]}[/]")


def figure(value: float) -> str:
    """Return a number short enough to read: whole where it is whole, else two places."""
    return f"{value:.0f}" if float(value).is_integer() else f"{value:.2f}" if abs(value) >= 0.01 else f"{value:.1g}"


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
