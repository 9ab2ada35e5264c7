"""What build, draw, coupon and cache say of what they wrote or keep."""

import json
from collections import Counter
from collections.abc import Iterator
from os.path import relpath
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from partgen.cli import show
from partgen.finding import counted
from partgen.kept import FOLDER, ROOM

if TYPE_CHECKING:
    from partgen.kept import Store
    from partgen.pipeline import Outcome
    from partgen.printing.calibration import Calibration

NAMED = 6       # files at most that are named as removed


def built(outcome: "Outcome") -> None:
    """Print the cautions that a train calls for and what was written for it, or that nothing was."""
    for title, text in outcome.cautions:
        show.line((f"{title}.", "yellow"), f" {text}")
    if outcome.folder is None:
        click.echo("nothing written: mend what fails above" + ("" if outcome.refused else ", or build with --anyway"))
        return
    marked = ", marked as failing" if outcome.failed else ""
    click.echo(f"{outcome.folder}: {_asked(outcome) if outcome.asked else _whole(outcome)}{marked}")
    for said in (_beside(outcome), _reused(outcome), _changed(outcome)):
        if said:
            click.echo(said)


def _whole(outcome: "Outcome") -> str:
    """Say what a whole build is to be printed from."""
    parts = [record for record in outcome.files if record["part"]]
    pieces = sum(record["count"] for record in parts)
    mass = sum(record["mass_g"] * record["count"] for record in parts)
    return f"{counted(len(parts), 'STL file')} for {counted(pieces, 'piece')}, {mass:.0f} g in all"


def _asked(outcome: "Outcome") -> str:
    """Say how many files of which kind were written where not all was asked for."""
    kinds = Counter(record["kind"] for record in outcome.files)
    return "files written as asked: " + ", ".join(f"{kind} {count}" for kind, count in kinds.items())


def _beside(outcome: "Outcome") -> str:
    """Say what became of an earlier build's files that were not asked for; "" where there were none."""
    asked = outcome.asked or {"kept": [], "removed": []}
    kept, removed = len(asked["kept"]), asked["removed"]
    more = f" and {len(removed) - NAMED} more" if len(removed) > NAMED else ""
    return ". ".join(filter(None, (
        f"of the build before, files that stay as they are still true: {kept}" if kept else "",
        f"removed, as no longer true or of another choice: {', '.join(removed[:NAMED])}{more}" if removed else "")))


def _changed(outcome: "Outcome") -> str:
    """Say which parts have to be printed again, against those that count as printed; "" where nobody knows."""
    changed = outcome.changed
    if not changed:
        return ""
    since = "held against the parts that you told as printed" if changed["printed"] else (
        "if you printed what was first built in this folder (to count from later parts, build with --printed "
        "as soon as those in the folder are printed)")
    again, new, more = (_pieces(changed[kind]) for kind in ("print_again", "new", "more"))
    fit = sum(changed["as_printed"].values())
    told = {"print again": again, "print": new, "print more": more, "left over": _pieces(changed["over"]),
            "of no use any more, by their old names": _pieces(changed["gone"]),
            "the same under another name": [f"{Path(path).stem}, was {Path(old).stem}"
                                            for path, old in changed["renamed"].items()],
            "stay as printed": [counted(fit, "piece")] if fit else []}
    nothing = [] if again or new or more else ["  nothing has to be printed"]
    listed = [f"  {what}: {'; '.join(names)}" for what, names in told.items() if names]
    return "\n".join((f"{since}:", *nothing, *listed, *(f"  {said}" for said in _other_ride(outcome, changed))))


def _pieces(counts: dict[str, int]) -> list[str]:
    return [f"{count} x {Path(path).stem}" for path, count in counts.items()]


def _other_ride(outcome: "Outcome", changed: dict[str, Any]) -> Iterator[str]:
    """Say what of the ride is otherwise, as far as that was asked for."""
    ride = changed["ride"] if not outcome.asked or "ride" in outcome.asked["only"] else []
    runs = [name for name in ride if name.startswith("run_")]
    others = [name for name in ride if name != "markers" and name not in runs]
    figures = ", ".join([*others, *(["the runs from stop to stop"] if runs else [])])
    seeing = any(plan.hung for plan in outcome.train.wagons)
    if "markers" in ride:
        yield f"{'markers lie' if seeing else 'brake'} elsewhere, as the ride card says"
    if ride:
        files = "firmware/ride.h, train.h and train.c" if seeing else "firmware/ride.h"
        yield f"load {files} into the controller anew, other in {'them' if seeing else 'it'}: {figures or 'markers'}"


def _reused(outcome: "Outcome") -> str:
    """Say what was not made anew, since it was made before; "" where all was."""
    if outcome.reused.get("builds"):
        return "this very train was built before: its files were taken from what is kept"
    kept, new = outcome.reused.get("parts", 0), outcome.made.get("parts", 0)
    return f"shapes of parts worked out anew: {new}; taken from what is kept: {kept}" if kept else ""


def kept(store: "Store", as_json: bool) -> None:
    """Print by kind what is kept for the next build and where."""
    found = store.contents()
    if as_json:
        click.echo(json.dumps({"folder": str(store.folder) if store.folder else None, "kinds": {
            kind: {"count": count, "bytes": size} for kind, (count, size) in found.items()}}, ensure_ascii=False))
        return
    for kind, (count, size) in found.items():
        click.echo(f"{kind:<18} {count:>6} {size / 1e6:>9.1f} MB")
    whole = sum(size for _, size in found.values()) / 1e6
    click.echo(f"{store.folder}: {whole:.1f} MB of {ROOM / 1e6:.0f} MB" if found else
               f"nothing is kept in {store.folder}" if store.folder else f"nothing is kept: {FOLDER} is set to nothing")


def drawn(outcome: "Outcome", as_json: bool) -> None:
    """Print which sheets were drawn and where they are, as JSON or in words."""
    if as_json:
        click.echo(json.dumps({"title": outcome.train.description.title, "folder": str(outcome.folder),
                               "files": list(outcome.files), "warnings": list(outcome.warnings)}, ensure_ascii=False))
        return
    for one in outcome.files:
        on = f", {one['paper']}, {one['scale']}" if "scale" in one else ""
        click.echo(f"{outcome.folder}/{one['path']}  {one['shows']}{on}")
    show.notes(outcome.warnings)


def coupon(outcome: "Outcome") -> None:
    """Print where a coupon's files are, or that there are none."""
    click.echo("nothing written: mend what fails above" if outcome.folder is None else
               f"{outcome.folder}: print coupon.stl, fill in measured.toml, then run coupon again with --measured")


def offsets(found: "Calibration", path: Path, file: Path, as_json: bool) -> None:
    """Print the offsets that were read off a coupon and how to use them, as JSON or in words."""
    from partgen.describe.field import extra
    values = {name: getattr(found.printer, name) for name in ("bore_offset", "peg_offset", "shrink", "snap_share")}
    if as_json:
        click.echo(json.dumps({"printer": values, "residual": found.residual, "worst": found.worst,
                               "readings": found.readings, "preset": str(path), "warnings": list(found.notes)},
                              ensure_ascii=False))
        return
    for name, value in values.items():
        field = type(found.printer).model_fields[name]
        unit = extra(field, "unit")
        click.echo(f"{name:<12} {value:+.3f} {'' if unit == '1' else unit:<3} {field.description}")
    click.echo(f"{found.readings} figures agree within {found.worst:.3f} mm, root mean square {found.residual:.3f} mm")
    show.notes(found.notes)
    click.echo(f"{path} written: under [printer] in {file} write, in place of another use there,  "
               f'use = "{relpath(path, file.parent)}"')
