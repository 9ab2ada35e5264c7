"""What `tune` says on a terminal."""

from partgen.cli.show import console

BAR = 44                # columns of the bar that shows where in its surroundings the interval lies


def show(tuned, tightest, title: str) -> None:
    """Print one block a wagon: interval, best value, what binds at each end, longest body; then the radius."""
    screen = console()
    screen.print(f"[bold]{title}[/]")
    for one in tuned:
        for line in _lines(one):
            screen.print(line, soft_wrap=True)
    radius, binds = tightest
    if radius is None:
        screen.print(f"sharpest radius: the train does not pass as it is: {_failing(binds)}", soft_wrap=True)
    else:
        screen.print(f"sharpest radius: could be tightened to {radius:.1f} mm; then {_said(binds)}", soft_wrap=True)


def _lines(one):
    variable = one.variable.replace("_", " ")
    if one.low is None:
        yield f"\n[bold red]{one.wagon}[/]  no {variable} works: {_failing(one.low_binds)}"
        return
    yield f"\n[bold]{one.wagon}[/]  {variable} works from {one.low:.2f} to {one.high:.2f} mm, best {one.best:.1f} mm"
    yield _bar(one)
    yield f"  shorter: {_said(one.low_binds)}"
    yield f"  longer:  {_said(one.high_binds)}"
    if one.longest_body is not None:
        yield f"  body up to {one.longest_body:.1f} mm long; then {_said(one.longest_binds)}"


def _bar(one) -> str:
    """Return a bar: the interval, the best value and where the description stands now."""
    span = max(one.high - one.low, 1.0)
    left, right = min(one.low - 0.3 * span, one.now), max(one.high + 0.3 * span, one.now)

    def column(value):
        return min(int((value - left) / (right - left) * BAR), BAR - 1)
    cells = ["[dim]·[/]"] * BAR
    for k in range(column(one.low), column(one.high) + 1):
        cells[k] = "[green]━[/]"
    cells[column(one.now)] = "[yellow]│[/]"
    cells[column(one.best)] = "[bold green]◆[/]"
    return f"  {left:.0f} {''.join(cells)} {right:.0f} mm   ◆ best  │ now"


def _failing(binding) -> str:
    """Say what fails as it stands, with what was found."""
    unit = "" if binding.unit == "1" else f" {binding.unit}"
    return f"{binding.check} of {binding.subject} fails, {binding.value:.2f} against {binding.limit:.2f}{unit}"


def _said(binding) -> str:
    if binding is None:
        return "nothing, the range of the field ends there"
    unit = "" if binding.unit == "1" else f" {binding.unit}"
    return f"{binding.check} of {binding.subject} fails at its limit, {binding.limit:.2f}{unit}"
