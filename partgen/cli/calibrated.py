"""What `coupon` says: the coupon's files, or the offsets that were read off it."""

import json
from os.path import relpath

import click

from partgen.cli import show


def coupon(outcome, every: bool, as_json: bool) -> None:
    """Print the findings on a coupon and where its files are, as JSON or in words."""
    if as_json:
        click.echo(json.dumps({
            "title": outcome.train.title, "findings": [finding.record() for finding in outcome.findings],
            "folder": str(outcome.folder) if outcome.folder else None, "files": list(outcome.files),
            "warnings": list(outcome.warnings)}, ensure_ascii=False))
        return
    show.findings(outcome.findings, f"{outcome.train.title}: coupon", every)
    for note in outcome.warnings:
        click.echo(f"note: {note}", err=True)
    if outcome.folder is None:
        click.echo("nothing written: mend what fails above")
    else:
        click.echo(f"{outcome.folder}: print coupon.stl, fill in measured.toml, then run coupon again with --measured")


def preset(found, path, file, as_json: bool) -> None:
    """Print the offsets that were read off a coupon and how to use them, as JSON or in words."""
    printer = found.printer
    values = {name: getattr(printer, name) for name in ("bore_offset", "peg_offset", "shrink", "snap_share")}
    if as_json:
        click.echo(json.dumps({"printer": values, "residual": found.residual, "worst": found.worst,
                               "readings": found.readings, "preset": str(path), "warnings": list(found.notes)},
                              ensure_ascii=False))
        return
    for name, value in values.items():
        field = type(printer).model_fields[name]
        unit = field.json_schema_extra["unit"]
        click.echo(f"{name:<12} {value:+.3f} {'' if unit == '1' else unit:<3} {field.description}")
    click.echo(f"{found.readings} figures agree within {found.worst:.3f} mm, root mean square {found.residual:.3f} mm")
    for note in found.notes:
        click.echo(f"note: {note}", err=True)
    click.echo(f'{path} written: under [printer] in {file} write  use = "{relpath(path, file.parent)}"')
