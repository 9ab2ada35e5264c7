"""What every command shares: errors become messages and exit codes, no traceback reaches a user; progress."""

import json
import os
import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Any

import click

from partgen.errors import DescriptionError, PartgenError
from partgen.interrupts import interrupts_to

OF_SIGNAL, OWN_FAULT = 128, 70     # a shell counts the signal's number on: 130 for Ctrl-C, 143 for SIGTERM


class Shell(click.Group):
    """A command group that ends every command with a message and an exit code."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        ctx.meta["arguments"] = tuple(args)
        return super().parse_args(ctx, args)

    def invoke(self, ctx: click.Context) -> Any:
        interrupts = ctx.meta["interrupted"] = Interrupts()
        try:
            with interrupts_to(interrupts.remember):
                return super().invoke(ctx)
        except PartgenError as error:
            if interrupts.number:               # a helper that was stopped as well
                stopped(ctx)
            tell(error, as_json="--json" in ctx.meta["arguments"])
            ctx.exit(error.exit_code)
        except (KeyboardInterrupt, EOFError):
            stopped(ctx)
        except BrokenPipeError:
            os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
            ctx.exit(0)
        except (click.ClickException, click.exceptions.Exit, click.Abort):
            raise
        except Exception as error:
            if interrupts.number:              # an import cut short shows as its own error
                stopped(ctx)
            if os.environ.get("PARTGEN_TRACEBACK"):
                raise
            fault_of_its_own(error)
            ctx.exit(OWN_FAULT)


def stopped(ctx: click.Context) -> None:
    """End the command as interrupted."""
    click.echo("interrupted; nothing was left half written", err=True)
    ctx.exit(OF_SIGNAL + (ctx.meta["interrupted"].number or signal.SIGINT))


def fault_of_its_own(error: Exception) -> None:
    """Say on stderr that the program itself went wrong."""
    click.echo(f"partgen met a fault of its own: {type(error).__name__}: {error}\n"
               "nothing was written; run again with PARTGEN_TRACEBACK=1 to see where", err=True)


def faults_of(error: Exception) -> dict[str, Any]:
    """Return as data what is wrong."""
    faults = error.faults if isinstance(error, DescriptionError) else ()
    return {"error": str(error),
            "faults": [{"path": fault.path, "line": fault.line, "message": fault.message} for fault in faults]}


def tell(error: PartgenError, as_json: bool) -> None:
    """Say on stderr, fault by fault, what is wrong; with --json also as data on stdout."""
    faults = error.faults if isinstance(error, DescriptionError) else ()
    if as_json:
        click.echo(json.dumps(faults_of(error), ensure_ascii=False))
    if isinstance(error, DescriptionError):
        click.echo(f"{error.what} cannot be used" + (f" ({len(faults)} faults):" if len(faults) > 1 else ":"), err=True)
        for fault in faults:
            click.echo(f"  {fault}", err=True)
    else:
        click.echo(str(error), err=True)


class Interrupts:
    """Remembers Ctrl-C or SIGTERM: some libraries swallow the exception while they load, so every step of a long
    command asks as well."""

    number = 0      # of the signal, 0 while there was none

    def remember(self, number: int, _frame: FrameType | None) -> None:
        """Note a signal and raise it."""
        self.number = number
        raise KeyboardInterrupt

    def ask(self) -> None:
        """Raise KeyboardInterrupt when a signal came at any time before."""
        if self.number:
            raise KeyboardInterrupt


@contextmanager
def progress(quiet: bool) -> Iterator[Callable[[str, float], None]]:
    """Give a function that shows progress on stderr, and raises KeyboardInterrupt where Ctrl-C was pressed: a bar on a
    terminal, a line for each stage (what it tells up to a colon) in a pipe, nothing when `quiet`."""
    interrupts: Interrupts = click.get_current_context().meta["interrupted"]
    if quiet or not sys.stderr.isatty():
        told = {"done"}

        def tell(what: str, _share: float) -> None:
            interrupts.ask()
            if not quiet and (stage := what.split(":")[0]) not in told:
                told.add(stage)
                click.echo(stage, err=True)

        yield tell
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn
    columns = TextColumn("{task.description:<28}", markup=False), BarColumn(bar_width=32), TimeElapsedColumn()
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("reading", total=1.0)

        def show(what: str, share: float) -> None:
            interrupts.ask()
            bar.update(task, description=what, completed=share)

        yield show
