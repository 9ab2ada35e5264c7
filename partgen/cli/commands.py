"""The commands. Heavy imports stand inside them: a command loads only what it needs."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from msgspec.structs import replace

from partgen import __version__
from partgen.cli.shell import Shell, progress

if TYPE_CHECKING:
    from partgen.pipeline import Outcome

FILE = click.argument("file", type=click.Path(path_type=Path))
OUT = click.option("-o", "--out", type=click.Path(path_type=Path), default=Path("out"), show_default=True,
                   help="Folder that gets a folder of its own for what is written.")
REPLACE = click.option("--replace", "replace_other", is_flag=True,
                       help="Replace the output of another FILE that gives its train the same title.")
EVERY = click.option("--every", is_flag=True, help="List every finding, not only the tightest of each check.")
JSON = click.option("--json", "as_json", is_flag=True, help="Answer as JSON on stdout.")


@click.group(cls=Shell, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="partgen")
def main() -> None:
    """Wagons for a home-made toy train: measured figures in, proven printable parts out."""


@main.command()
@click.argument("name", required=False)
@JSON
def presets(name: str | None, as_json: bool) -> None:
    """List the presets, or show the one called NAME with its source."""
    from partgen.cli import preset_list
    click.echo(preset_list.one(name, as_json) if name else preset_list.every(as_json))


@main.command()
def schema() -> None:
    """Print the JSON schema of a description, for editors and checkers."""
    from partgen.describe.starter import json_schema
    click.echo(json.dumps(json_schema(), indent=2, ensure_ascii=False))


@main.command()
@FILE
@click.option("--from", "demo", metavar="DEMO", help="Start from a demo description instead of a bare one.")
@click.option("--overwrite", is_flag=True, help="Replace FILE if it is there already.")
def new(file: Path, demo: str | None, overwrite: bool) -> None:
    """Write a description to start from, which says how to measure."""
    from partgen.cli import preset_list
    preset_list.write_new(file, demo, overwrite)
    click.echo(f"{file} written: fill in what you measured, then run: partgen check {file}", err=True)


@main.command()
@FILE
@EVERY
@JSON
def check(file: Path, every: bool, as_json: bool) -> None:
    """Hold the train against every limit that needs no solid."""
    from partgen import pipeline
    _answer(pipeline.check(file), every, as_json, file=file)


@main.command()
@FILE
@click.option("--write", is_flag=True, help="Write the changes into FILE; comments and layout stay.")
@click.option("--seconds", type=click.FloatRange(min=1), default=60.0, show_default=True,
              help="How long to look for changes, in seconds of the processor.")
@JSON
def mend(file: Path, write: bool, seconds: float, as_json: bool) -> None:
    """Find changes of FILE after which every check holds.

    Each is tried before it is told. Where not all can be mended, it says how far it got.
    """
    from partgen import pipeline
    from partgen.cli import mend_table
    with progress(as_json) as tell:
        bench, found = pipeline.mend(file, write=write, seconds=seconds, progress=tell)
    mend_table.show(bench, found, file, write, as_json)
    click.get_current_context().exit(0 if found.holds and not found.facts else 1)


@main.command()
@FILE
@click.option("--write", is_flag=True, help="Write the best values into FILE; comments and layout stay.")
@click.option("--plot", type=click.Path(path_type=Path, file_okay=False), metavar="FOLDER",
              help="Draw a plot of the margins for each wagon into FOLDER, as PNG and SVG.")
@JSON
def tune(file: Path, write: bool, plot: Path | None, as_json: bool) -> None:
    """Find the wheelbases that work, the best of them, and what binds.

    So it is with the pivot spacing of a wagon on bogies, the length of each body and the track's sharpest radius.
    """
    from partgen import pipeline
    from partgen.cli import show
    with progress(as_json) as tell:
        description, tuned, tightest = pipeline.tune(file, write=write, progress=tell)
    if plot:
        pipeline.draw_tuning(description, tuned, plot)
    show.tunings(description.title, tuned, tightest, as_json)
    click.get_current_context().exit(0 if all(one.low is not None for one in tuned) else 1)


@main.command()
@FILE
@OUT
@REPLACE
@JSON
def draw(file: Path, out: Path, replace_other: bool, as_json: bool) -> None:
    """Draw wagons, layouts and the train on its plan, to scale.

    Every sheet becomes an SVG, all together one PDF: what to look at while numbers change. Nothing is built for it.
    """
    from partgen import pipeline
    from partgen.cli import written
    written.drawn(pipeline.draw(file, out, replace_other=replace_other), as_json)


@main.command()
@FILE
@click.option("--measured", type=click.Path(path_type=Path), metavar="FORM",
              help="Read the filled-in FORM of the first run and tell what it changes.")
@click.option("--write", is_flag=True, help="With --measured: write the changes into FILE; comments and layout stay.")
@JSON
def ride(file: Path, measured: Path | None, write: bool, as_json: bool) -> None:
    """Plan the ride: speeds, stop ramp, fill marks, markers, run time.

    With --measured, it puts the first run's figures back in: speed, scatter, stop and the markers' places. `build`
    writes the FORM to fill in.
    """
    from partgen import pipeline
    from partgen.cli import ride_tables
    if measured:
        from partgen.cli import first_run_tables
        found = pipeline.first_run(file, measured, write=write)
        first_run_tables.show(found, file, measured, write, as_json)
        click.get_current_context().exit(0 if found.holds else 1)
    if write:
        raise click.UsageError("--write has nothing to write without --measured FORM")
    _, plan = pipeline.ride(file)
    if as_json:
        click.echo(json.dumps(ride_tables.record(plan), ensure_ascii=False))
    else:
        ride_tables.show(plan)
    click.get_current_context().exit(1 if plan.faults else 0)


@main.command()
@click.argument("files", metavar="FILE...", nargs=-1, required=True, type=click.Path(path_type=Path))
@OUT
@click.option("--anyway", is_flag=True, help="Write the files although a check fails; they are marked.")
@click.option("--pictures/--no-pictures", default=True, show_default=True, help="Render pictures of the train.")
@click.option("--hours", type=click.FloatRange(min=0, min_open=True), metavar="HOURS",
              help="Keep only the wagons that can be printed in so many hours.")
@click.option("--part", "parts", multiple=True, metavar="NAME",
              help="Make only this part: `lid` of every wagon, or a file's name as `pantry-lid`. Repeatable.")
@click.option("--wagon", "wagons", multiple=True, metavar="NAME", help="Make only the parts of this wagon. Repeatable.")
@click.option("--only", metavar="KIND,...", default="",
              help="Write only stl, step, plates, gltf, pictures, ride, bill or report.")
@click.option("--printed", is_flag=True, help="Tell that the parts as they stand in the folder before this build are "
              "printed, and the files in firmware are loaded: what to print again counts from there.")
@REPLACE
@EVERY
@JSON
def build(files: tuple[Path, ...], out: Path, anyway: bool, pictures: bool, hours: float | None, parts: tuple[str, ...],
          wagons: tuple[str, ...], only: str, printed: bool, replace_other: bool, every: bool, as_json: bool) -> None:
    """Build every part, prove it, write files, pictures and a report.

    With --part, --wagon or --only the whole train is planned and checked as ever, but only what is named is made and
    written. Of an earlier build in the folder stays what is still true; all else of it goes, and is told. Of several
    FILEs each is built into a folder of its own; one that cannot be built stops no other, and a table tells of all.
    """
    from partgen import pipeline
    from partgen.cli import written
    from partgen.pipeline.asked import Asked
    asked = Asked(parts, wagons, tuple(filter(None, map(str.strip, only.split(",")))))
    if printed:
        if len(files) > 1 or asked != Asked():
            raise click.UsageError("--printed tells of all parts in the folder of one FILE: give one FILE, and leave "
                                   "--part, --wagon and --only out")
        pipeline.printed(files[0], out, replace_other=replace_other)
    if len(files) > 1:
        from partgen.cli import trains
        from partgen.pipeline.many import Wished, build_all
        with progress(as_json) as tell:
            found = build_all(files, out, Wished(anyway, pictures, hours, asked), replace_other=replace_other,
                              progress=tell)
        click.get_current_context().exit(trains.told(found, _body, as_json))
    with progress(as_json) as tell:
        outcome = pipeline.build(files[0], out, anyway=anyway, pictures=pictures, hours=hours,
                                 replace_other=replace_other, asked=asked, progress=tell)
    _answer(outcome, every, as_json, written.built, files[0])


@main.command()
@FILE
@OUT
@click.option("--build/--no-build", "building", default=True, show_default=True,
              help="Build what changed whenever all checks hold.")
@click.option("--pictures/--no-pictures", default=False, show_default=True, help="Render pictures of the train, too.")
@REPLACE
def watch(file: Path, out: Path, building: bool, pictures: bool, replace_other: bool) -> None:
    """Check, draw and build FILE on every save, and tell what changed.

    Leave it running beside your editor; Ctrl-C ends it.
    """
    from partgen.cli import watching
    watching.watch(file, out, building, pictures, replace_other)


@main.command()
@click.option("--empty", is_flag=True, help="Throw it all away.")
@JSON
def cache(empty: bool, as_json: bool) -> None:
    """Show what of earlier builds is kept for the next one, or empty it."""
    from partgen.cli import written
    from partgen.kept import store
    kept = store()
    if empty:
        kept.tidy(room=0)
    written.kept(kept, as_json)


@main.command()
@FILE
@click.option("--measured", type=click.Path(path_type=Path), metavar="FORM",
              help="Read the filled-in FORM and write the printer's offsets as a preset to use.")
@OUT
@EVERY
@JSON
def coupon(file: Path, measured: Path | None, out: Path, every: bool, as_json: bool) -> None:
    """Draw a test print for your printer's fits, or read what it told.

    With --measured, the figures in FORM become the printer's offsets; without, the coupon is written.
    """
    from partgen import pipeline
    from partgen.cli import written
    if measured:
        found, path = pipeline.calibrate(file, measured, out)
        written.offsets(found, path, file, as_json)
        return
    with progress(as_json) as tell:
        outcome = pipeline.coupon(file, out, tell)
    _answer(outcome, every, as_json, written.coupon)


def _answer(outcome: "Outcome", every: bool, as_json: bool,
            closing: "Callable[[Outcome], None] | None" = None, file: Path | None = None) -> None:
    """Print what was found, as JSON or as a table, with remedies for the description in `file`, and with a `closing`
    where files were to be written; then exit."""
    from partgen import pipeline
    from partgen.cli import show
    from partgen.paper.sizes import sizes
    treated = pipeline.treated(file, outcome) if file and outcome.failed else iter(())
    if as_json:
        tried = {(one.check, one.subject, one.value): one for one in treated}
        outcome = replace(outcome, findings=tuple(tried.get((one.check, one.subject, one.value), one)
                                                  for one in outcome.findings))
        click.echo(json.dumps(_body(outcome, written=bool(closing)), ensure_ascii=False))
    else:
        show.findings(outcome.findings, outcome.train.description.title, every, treated)
        if not closing:
            show.sizes(sizes(outcome.train))
        show.settings(outcome.train)
        show.notes(outcome.warnings)
        if closing:
            closing(outcome)
    click.get_current_context().exit(1 if outcome.failed else 0)


def _body(outcome: "Outcome", written: bool = True) -> dict[str, Any]:
    """Return what was found as data, with what was written where files were to be."""
    from partgen.paper.sizes import sizes
    body: dict[str, Any] = {"title": outcome.train.description.title,
                            "findings": [finding.record() for finding in outcome.findings],
                            "wagons": [one.record() for one in sizes(outcome.train)]}
    return body if not written else body | {
        "folder": str(outcome.folder) if outcome.folder else None, "files": list(outcome.files),
        "warnings": list(outcome.warnings), "asked": outcome.asked, "changed": outcome.changed}
