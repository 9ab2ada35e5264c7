"""What every command shares: errors become messages and exit codes, and no traceback reaches a user."""

import json
import os
import signal
from contextlib import contextmanager

import click

from partgen.errors import DescriptionError, PartgenError

INTERRUPTED, OWN_FAULT = 130, 70


class Shell(click.Group):
    """A command group that ends every command with a message and an exit code."""

    def invoke(self, ctx):
        try:
            ctx.meta["interrupted"] = Interrupts()
            with interruptible(ctx.meta["interrupted"]):
                return super().invoke(ctx)
        except PartgenError as error:
            tell(error, as_json="--json" in ctx.meta.get("arguments", ()))
            ctx.exit(error.exit_code)
        except (KeyboardInterrupt, EOFError):
            self.stopped(ctx)
        except BrokenPipeError:
            os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
            ctx.exit(0)
        except (click.ClickException, click.exceptions.Exit, click.Abort):
            raise
        except Exception as error:
            if ctx.meta["interrupted"].pressed:     # an import cut short shows as its own error
                self.stopped(ctx)
            if os.environ.get("PARTGEN_TRACEBACK"):
                raise
            click.echo(f"partgen met a fault of its own: {type(error).__name__}: {error}\n"
                       "nothing was written; run again with PARTGEN_TRACEBACK=1 to see where", err=True)
            ctx.exit(OWN_FAULT)

    def stopped(self, ctx):
        """End the command as interrupted."""
        click.echo("interrupted; nothing was changed", err=True)
        ctx.exit(INTERRUPTED)

    def parse_args(self, ctx, args):
        ctx.meta["arguments"] = tuple(args)
        return super().parse_args(ctx, args)


class Interrupts:
    """Remembers Ctrl-C: some libraries swallow the exception while they load, so every step of a long
    command asks as well."""

    def __init__(self):
        self.pressed = False

    def remember(self, number, frame):
        self.pressed = True
        raise KeyboardInterrupt

    def ask(self):
        """Raise KeyboardInterrupt when Ctrl-C was pressed at any time before."""
        if self.pressed:
            raise KeyboardInterrupt


@contextmanager
def interruptible(interrupts: Interrupts):
    """Let `interrupts` remember Ctrl-C meanwhile."""
    try:
        before = signal.signal(signal.SIGINT, interrupts.remember)
    except ValueError:          # not in the main thread: nothing to catch
        yield
        return
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def tell(error: PartgenError, as_json: bool) -> None:
    """Say on stderr, fault by fault, what is wrong; with --json also as data on stdout."""
    faults = getattr(error, "faults", ())
    if as_json:
        records = [{"path": fault.path, "message": fault.message} for fault in faults]
        click.echo(json.dumps({"error": str(error), "faults": records}, ensure_ascii=False))
    if isinstance(error, DescriptionError):
        count = len(faults)
        click.echo(f"{error.what} cannot be used" + (f" ({count} faults):" if count > 1 else ":"), err=True)
        for fault in faults:
            click.echo(f"  {fault}", err=True)
    else:
        click.echo(str(error), err=True)
