"""The commands. Heavy imports stand inside them: a command loads only what it needs."""

import json
from contextlib import contextmanager
from pathlib import Path

import click

from partgen import __version__
from partgen.cli.shell import Shell

FILE = click.argument("file", type=click.Path(path_type=Path))
EVERY = click.option("--every", is_flag=True, help="List every finding, not only the tightest of each check.")
JSON = click.option("--json", "as_json", is_flag=True, help="Answer as JSON on stdout.")


@click.group(cls=Shell, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="partgen")
def main():
    """Wagons for a home-made toy train: measured figures in, proven printable parts out."""


@main.command()
@click.argument("name", required=False)
@JSON
def presets(name, as_json):
    """List the presets by kind, or show the one called NAME with its source."""
    from partgen.cli import shelf
    click.echo(shelf.listing(name, as_json))


@main.command()
@FILE
@click.option("--from", "demo", metavar="DEMO", help="Start from a demo description instead of a bare one.")
@click.option("--overwrite", is_flag=True, help="Replace FILE if it is there already.")
def new(file, demo, overwrite):
    """Write a commented description to FILE that says how to measure each value."""
    from partgen.cli import shelf
    shelf.write_new(file, demo, overwrite)
    click.echo(f"{file} written: fill in what you measured, then run: partgen check {file}", err=True)


@main.command()
@FILE
@EVERY
@JSON
@click.pass_context
def check(ctx, file, every, as_json):
    """Plan the train described in FILE and hold it against every limit that needs no solid."""
    from partgen import pipeline
    outcome = pipeline.check(file)
    _answer(outcome, every, as_json)
    ctx.exit(1 if outcome.failed else 0)


@main.command()
@FILE
@click.option("--write", is_flag=True, help="Write the best values into FILE; comments and layout stay.")
@click.option("--plot", type=click.Path(path_type=Path, file_okay=False), metavar="FOLDER",
              help="Draw a plot of the margins for each wagon into FOLDER, as PNG and SVG.")
@JSON
@click.pass_context
def tune(ctx, file, write, plot, as_json):
    """Find the wheelbase or pivot spacing that works for every wagon in FILE, and what binds at each end."""
    from partgen import pipeline
    description, tuned, tightest = pipeline.tune(file, write=write)
    if plot:
        pipeline.draw_tuning(description, tuned, plot)
    if as_json:
        radius, binds = tightest
        click.echo(json.dumps({"title": description.title, "wagons": [one.record() for one in tuned],
                               "tightest_radius": radius, "radius_binds": binds.record() if binds else None}))
    else:
        from partgen.cli import tuned as talk
        talk.show(tuned, tightest, description.title)
    ctx.exit(0 if all(one.low is not None for one in tuned) else 1)


@main.command()
@FILE
@JSON
@click.pass_context
def ride(ctx, file, as_json):
    """Plan the ride of the train in FILE: speeds by curve, stop ramp, fill marks, markers, run time."""
    from partgen import pipeline
    from partgen.cli import ridden
    _, plan = pipeline.ride(file)
    if as_json:
        click.echo(json.dumps(ridden.record(plan), ensure_ascii=False))
    else:
        ridden.show(plan)
    ctx.exit(1 if plan.faults else 0)


@main.command()
@FILE
@click.option("-o", "--out", type=click.Path(path_type=Path), default=Path("out"), show_default=True,
              help="Folder that gets one folder a train.")
@click.option("--anyway", is_flag=True, help="Write the files although a check fails; they are marked.")
@click.option("--pictures/--no-pictures", default=True, show_default=True, help="Render pictures of the train.")
@EVERY
@JSON
@click.pass_context
def build(ctx, file, out, anyway, pictures, every, as_json):
    """Build every part of the train described in FILE, prove it, and write files, pictures and a report."""
    from partgen import pipeline
    with _progress(as_json) as show_step:
        def tell(what, share):
            ctx.meta["interrupted"].ask()
            show_step(what, share)

        outcome = pipeline.build(file, out, anyway=anyway, pictures=pictures, progress=tell)
    _answer(outcome, every, as_json, building=True)
    ctx.exit(1 if outcome.failed else 0)


@main.command()
@FILE
@click.option("--measured", type=click.Path(path_type=Path), metavar="FORM",
              help="Read the filled-in FORM and write the printer's offsets as a preset to use.")
@click.option("-o", "--out", type=click.Path(path_type=Path), default=Path("out"), show_default=True,
              help="Folder that gets one folder a coupon.")
@EVERY
@JSON
@click.pass_context
def coupon(ctx, file, measured, out, every, as_json):
    """Draw a small coupon that tells how true your printer makes this train's fits, or read what it told."""
    from partgen import pipeline
    from partgen.cli import calibrated
    if measured:
        calibrated.preset(*pipeline.calibrate(file, measured, out), file, as_json)
        return
    with _progress(as_json) as show_step:
        outcome = pipeline.coupon(file, out, show_step)
    calibrated.coupon(outcome, every, as_json)
    ctx.exit(1 if outcome.failed else 0)


def _answer(outcome, every, as_json, building=False):
    """Print an outcome as JSON, or as a table with a closing line."""
    if as_json:
        body = {"title": outcome.train.title, "findings": [finding.record() for finding in outcome.findings]}
        if building:
            body |= {"folder": str(outcome.folder) if outcome.folder else None, "files": list(outcome.files),
                     "warnings": list(outcome.warnings)}
        click.echo(json.dumps(body, ensure_ascii=False))
        return
    from partgen.cli import show
    show.findings(outcome.findings, outcome.train.title, every)
    for warning in outcome.warnings:
        click.echo(f"note: {warning}", err=True)
    if building:
        show.cautions(outcome.description)
        click.echo(show.closing(outcome))


@contextmanager
def _progress(quiet):
    """Give a function that shows progress on stderr; it stays silent when piped or with --json."""
    from partgen.cli import show
    screen = show.console(stderr=True)
    if quiet or not screen.is_terminal:
        yield lambda what, share: None
        return
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn
    columns = TextColumn("{task.description:<28}"), BarColumn(bar_width=32), TimeElapsedColumn()
    with Progress(*columns, console=screen, transient=True) as bar:
        task = bar.add_task("reading", total=1.0)
        yield lambda what, share: bar.update(task, description=what, completed=share)
