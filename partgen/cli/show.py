"""What the commands say; rich is imported only where a terminal is drawn on."""

import json
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain
from typing import TYPE_CHECKING

import click

from partgen.finding import Finding, Verdict, counted, down, figure, up, worst
from partgen.plan.running_gear.wheelbases import barred

if TYPE_CHECKING:
    from partgen.paper.sizes import Sizes
    from partgen.plan.train import TrainPlan
    from partgen.remedies.tune import Tightest, Tuning

COLOUR = {"pass": "green", "warn": "yellow", "fail": "bold red"}
SIGN = {"pass": "holds", "warn": "close", "fail": "fails"}
VERDICTS: dict[Verdict, str] = {"pass": "hold", "warn": "close", "fail": "fail"}
HEADINGS = (("check", False), ("tightest at", False), ("found", True), ("", False), ("limit", True), ("unit", False),
            ("verdict", False))
WIDE = 120              # letters of a legend at most
BAR = 44                # columns of the bar that shows where in its surroundings a tuned interval lies

Row = tuple[str, ...]
Piece = str | tuple[str, str]
"""A piece of a line: text as it is, or text and its style."""


def line(*pieces: Piece) -> None:
    """Print a line: coloured on a terminal, plain in a pipe, without loading what colours it."""
    if sys.stdout.isatty():
        from rich.console import Console
        from rich.text import Text
        Console(highlight=False).print(Text.assemble(*pieces), soft_wrap=True)
    else:
        click.echo("".join(map(_plain, pieces)))


def table(title: str, headings: Sequence[tuple[str, bool]], rows: Iterable[Iterable[Piece]], gap: int = 1) -> None:
    """Draw a table: each heading with whether it stands over numbers, rows of cells with or without a style, columns
    `gap` letters apart. A pipe gets it uncut and uncoloured."""
    if not sys.stdout.isatty():
        _written(title, headings, rows, " " * gap)
        return
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text
    drawn = Table(title=Text(title), title_justify="left", title_style="bold", box=None, pad_edge=False,
                  padding=(0, gap, 0, 0))
    for at, (name, numbers) in enumerate(headings, 1):     # only words in the last column may break, no figure
        drawn.add_column(name, justify="right" if numbers else "left", no_wrap=numbers or at < len(headings),
                         header_style="dim")
    for row in rows:
        drawn.add_row(*(Text(cell) if isinstance(cell, str) else Text(*cell) for cell in row))
    Console(highlight=False).print(drawn)


def _written(title: str, headings: Sequence[tuple[str, bool]], rows: Iterable[Iterable[Piece]], gap: str) -> None:
    """Write a table as plain text, column under column."""
    cells = [[name for name, _ in headings], *(list(map(_plain, row)) for row in rows)]
    widths = [max(map(len, column)) for column in zip(*cells, strict=True)]
    click.echo(title)
    for row in cells:
        set_out = (cell.rjust(width) if numbers else cell.ljust(width)
                   for cell, (_, numbers), width in zip(row, headings, widths, strict=True))
        click.echo(gap.join(set_out).rstrip())


def _plain(piece: Piece) -> str:
    return piece if isinstance(piece, str) else piece[0]


def notes(said: Iterable[str]) -> None:
    """Print what is worth knowing besides, on stderr."""
    for note in said:
        click.echo(f"note: {note}", err=True)


# ---- findings


def findings(found: Sequence[Finding], title: str, every: bool = False, treated: Iterable[Finding] = ()) -> None:
    """Print a table of findings, the tightest of each check or all of them, and what to do where one fails: of those
    `treated` with what was tried, as they come."""
    groups = [[finding] for finding in found] if every else grouped(found)
    headings = [("what" if every and name == "tightest at" else name, numbers) for name, numbers in HEADINGS]
    starred = any(group[0].defaults for group in groups)
    table(title, headings, [(*_row(group, starred), (_fares(group), COLOUR[worst(group)])) for group in groups])
    if starred:
        often = Counter(path for group in groups for path in group[0].defaults)
        click.echo(legend(dict(often.most_common())))
    said, helped = set(), 0
    for finding in chain(treated, found):
        if finding.reason and (finding.check, finding.subject, finding.value) not in said:
            said.add((finding.check, finding.subject, finding.value))
            line((finding.check, COLOUR[finding.verdict]), f" of {finding.subject}: {finding.reason}")
            for number, remedy in enumerate(finding.remedies):
                line(("    or " if number else "    ", "green"), remedy.text)
            if finding.nearest:
                line(f"    {finding.nearest}")
            helped += bool(finding.remedies)
    if helped > 1:
        click.echo("each change is tried by itself: make one and check again; `partgen mend` finds what goes together")
    click.echo(summary(found))


def grouped(found: Sequence[Finding]) -> list[list[Finding]]:
    """Return the findings check by check, the gravest first, of those alike the one with least of its limit left."""
    tightest = sorted(found, key=lambda finding: (-[*SIGN].index(finding.verdict), finding.share))
    return [[finding for finding in tightest if finding.check == check]
            for check in dict.fromkeys(finding.check for finding in found)]


def summary(found: Iterable[Finding]) -> str:
    """Return one line that counts the verdicts."""
    count = Counter(finding.verdict for finding in found)
    words = [f"{count[verdict]} {word}" for verdict, word in VERDICTS.items() if count[verdict] or verdict == "fail"]
    return f"{counted(count.total(), 'check')}: {', '.join(words)}"


def _row(group: list[Finding], starred: bool) -> Row:
    """Return the cells for the tightest of a group; where any is `starred`, those that hang on usual values are."""
    finding = group[0]
    mark = ("* " if finding.defaults else "  ") if starred else ""
    return (finding.check, str(finding.subject), figure(finding.value),
            mark + sense(finding), limit(finding), unit(finding))


def sense(finding: Finding) -> str:
    """On which side of its limit a finding holds, as a sign."""
    return "<=" if finding.sense == "max" else ">="


def limit(finding: Finding) -> str:
    """What a finding is held to, as text."""
    return "no limit" if finding.unlimited else figure(finding.limit)


def unit(finding: Finding) -> str:
    """The unit of a finding's value and limit, "" for a mere number."""
    return "" if finding.unit == "1" else finding.unit


def legend(paths: Iterable[str]) -> str:
    """Say in one line what stars mean, and name as many of what figures hang on that nobody measured as it holds."""
    named = list(paths)
    for count in range(len(named), 0, -1):
        more = f" and {len(named) - count} more, by --json" if count < len(named) else ""
        said = f"* from usual values, not measured: {', '.join(named[:count])}{more}"
        if len(said) <= WIDE:
            break
    return said


def _fares(group: list[Finding]) -> str:
    """Say how a whole group fares."""
    verdict = worst(group)
    alike = sum(one.verdict == verdict for one in group)
    of = "" if alike == len(group) else f" of {len(group)}"
    note = f"; {group[0].note}" if group[0].note else ""
    return SIGN[verdict] + (f" ({alike}{of})" if len(group) > 1 else "") + note


SIZES = (("wagon", False), ("over all, mm", True), ("body, mm", True), ("inside, mm", True), ("over rail, mm", True),
         ("empty, g", True), ("full, g", True), ("filament", True), ("printing", True))


SMALLER = {"length": "shorter", "width": "narrower", "height": "lower"}


def sizes(found: "Sequence[Sizes]") -> None:
    """Print what each wagon comes out as: a table, then its cups."""
    title = "sizes, length x width x height; over all without cups, over rail with them; printing within a quarter"
    table(title, SIZES, (
        (one.wagon, _by(one.over_all), _by(one.outside), _by(one.inside), f"{one.high_with_cups:.0f}",
         f"{one.empty:.0f}", f"{one.full:.0f}", f"{one.filament:.0f} g, {one.metres:.0f} m",
         f"{one.hours:.1f} h") for one in found))
    for one in found:
        for cup in one.cups:
            click.echo(f"{one.wagon}: {cup.count} x {cup.called}, {cup.drink:.0f} ml each, {cup.mass:.0f} g full")
        if less := [f"{up(found - bound)} mm {SMALLER[aim]}" for aim, found, bound in one.unproven if aim in SMALLER]:
            click.echo(f"{one.wagon}: no closer arrangement of its modules was found, but a body up to "
                       f"{' or '.join(less)} is not ruled out")


def _by(box: Sequence[float]) -> str:
    return " x ".join(f"{side:.1f}" for side in box)


def settings(train: "TrainPlan") -> None:
    """Print at which wheelbases the axle holders of each wagon can be clamped, where there are several or only
    one of those wished."""
    for plan in train.wagons:
        if len(plan.gear.scale) > 1 and plan.gear.settings:
            never = f", not at {plan.gear.barred}" if plan.gear.barred else ""
            click.echo(f"{plan.name}: can be clamped at a wheelbase of {_listed(plan.gear.settings)} mm{never}; "
                       f"checked at {plan.base:g} mm, `partgen tune` tells at which others all checks hold")
        elif plan.travel_lost:
            click.echo(f"{plan.name}: {plan.travel_lost}")


def _listed(bases: Sequence[float]) -> str:
    return ", ".join(f"{base:g}" for base in bases)


# ---- what tune found


def tunings(title: str, tuned: "Sequence[Tuning]", tightest: "Tightest", as_json: bool) -> None:
    """Print one block a wagon: interval, best value, what binds at each end, longest body; then the radius."""
    radius, binds = tightest
    if as_json:
        from partgen.remedies.trials import told
        click.echo(json.dumps({"title": title, "wagons": [one.record() for one in tuned], "tightest_radius": radius,
                               "radius_binds": told(binds)}))
        return
    line((title, "bold"))
    for one in tuned:
        for pieces in _tuning(one):
            line(*pieces)
    line(f"sharpest radius: could be tightened to {radius:.1f} mm; then {_at_its_limit(binds)}" if radius is not None
         else f"sharpest radius: the train does not pass as it is: {_failing(binds)}")


def _tuning(one: "Tuning") -> Iterator[tuple[Piece, ...]]:
    variable = one.variable.replace("_", " ")
    if one.low is None or one.high is None or one.best is None:
        yield (f"\n{one.wagon}", "bold red"), f"  no {variable} works: {_failing(one.low_binds)}"
        return
    yield (f"\n{one.wagon}", "bold"), (f"  {variable} works from {up(one.low, 2)} to {down(one.high, 2)} "
                                       f"mm, best {one.best:g} mm")
    if one.settings:
        yield (f"  where its frame as described can be clamped, all checks hold at {_listed(one.settings)} mm; a frame "
               f"drawn anew is best at {one.anew:g} mm",)
    if one.left_out:
        yield (f"  not to be clamped at {barred(one.left_out)}",)
    yield tuple(_bar(one.low, one.high, one.best, one.now))
    yield f"  shorter: {_at_its_limit(one.low_binds)}",
    yield f"  longer:  {_at_its_limit(one.high_binds)}",
    if one.longest_body is not None:
        yield f"  body up to {one.longest_body:.1f} mm long; then {_at_its_limit(one.longest_binds)}",


def _bar(low: float, high: float, best: float, now: float) -> Iterator[Piece]:
    """Yield a bar: the interval, the best value and where the description stands now."""
    span = max(high - low, 1.0)
    left, right = min(low - 0.3 * span, now), max(high + 0.3 * span, now)

    def column(value: float) -> int:
        return min(int((value - left) / (right - left) * BAR), BAR - 1)
    cells = [("·", "dim")] * BAR
    for k in range(column(low), column(high) + 1):
        cells[k] = "━", "green"
    cells[column(now)] = "│", "yellow"
    cells[column(best)] = "◆", "bold green"
    yield f"  {left:.0f} "
    yield from cells
    yield f" {right:.0f} mm   ◆ best  │ now"


def _failing(binds: Finding | None) -> str:
    """Say what fails as it stands, with what was found."""
    return _fails(binds, f", {binds.value:.2f} against") if binds else ""


def _at_its_limit(binds: Finding | None) -> str:
    return _fails(binds, " at its limit,") if binds else "nothing, the range of the field ends there"


def _fails(binds: Finding, how: str) -> str:
    return f"{binds.check} of {binds.subject} fails{how} {binds.limit:.2f} {unit(binds)}".rstrip()
