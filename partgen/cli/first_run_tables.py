"""What `ride --measured` says: what the first run changes, as tables or as JSON."""

import json
from pathlib import Path
from typing import Any

import click

from partgen.cli.show import COLOUR, line, notes, table
from partgen.describe.edits import Edit
from partgen.describe.field import extra
from partgen.describe.train_tables import Ride
from partgen.dynamics.first_run import Corrected, RoseTo

SAID = {"likely": ("no higher than is likely", COLOUR["pass"]), "within": ("not over what is told", COLOUR["pass"]),
        "over": ("higher than told", COLOUR["fail"])}

LAY = ("lay the markers where this table has them: the file holds what the ride is like, from which the next ride card "
       "works them out, without the distances measured")


def show(found: Corrected, file: Path, form: Path, written: bool, as_json: bool) -> None:
    """Print what the first run makes of the description in `file`, and what to write where."""
    if as_json:
        click.echo(json.dumps(record(found, written), ensure_ascii=False))
        return
    line((found.ride.train.description.title, "bold"))
    if found.values:
        table("the ride as it was run", (("", False), ("was", True), ("is", True), ("", False), ("write", False)), [
            (one.path, f"{one.was:g}", f"{one.value:g}", _unit(one),
             f"{one.steps[-1]} = {one.value:g}  under [ride]" if one in found.edits else "stays")
            for one in found.values], gap=2)
    table("markers, along the plan", (("stop", False), ("began mm", True), ("begins mm", True), ("move mm", True),
                                      ("by", False)), [
        (one.stop, f"{one.was:.1f}", f"{one.begins:.1f}", f"{one.by:+.1f}",
         "distances measured" if one.measured else "the plan") for one in found.markers], gap=2)
    if found.rises:
        table("how high it climbed", (("cup", False), ("seen mm", True), ("likely mm", True), ("at most mm", True),
                                      ("", False)), [
            (one.cup, f"{one.seen:.1f}", f"{one.likely:.1f}", f"{one.highest:.1f}", SAID[one.verdict])
            for one in found.rises], gap=2)
    for rise in found.rises:
        if rise.verdict == "over":
            line((_over(found, rise), "bold red"))
    for fault in found.ride.faults:
        line((fault, "bold red"))
    notes((*found.notes, *([LAY] if any(one.measured for one in found.markers) else [])))
    click.echo(_closing(found, file, form, written))


def _over(found: Corrected, rise: RoseTo) -> str:
    """Say what to measure again where a liquid climbs higher than can be."""
    ride = found.ride.train.description.ride
    return (f"{rise.cup} climbs higher than told: measure again the step at the worst rail joint (ride.joint_step = "
            f"{ride.joint_step:g} mm), the floor's lean (ride.floor_tilt = {ride.floor_tilt:g} deg), how full the cup "
            "was and how fast it ran")


def _closing(found: Corrected, file: Path, form: Path, written: bool) -> str:
    if not found.edits:
        return f"{file} stays as it is"
    if written:
        return f"{file} changed: now ask partgen check {file} whether all holds"
    return f"`partgen ride {file} --measured {form} --write` writes this into {file}"


def _unit(one: Edit) -> str:
    return extra(Ride.model_fields[str(one.steps[-1])], "unit")


def record(found: Corrected, written: bool) -> dict[str, Any]:
    """Return what was found as plain data; every key ends in its unit, or a unit stands beside it."""
    return {
        "title": found.ride.train.description.title,
        "values": [{**one.record(), "unit": _unit(one)} for one in found.values],
        "markers": [{"stop": one.stop, "was_mm": one.was, "begins_mm": one.begins, "by_mm": one.by,
                     "measured": one.measured} for one in found.markers],
        "rises": [{"cup": one.cup, "seen_mm": one.seen, "likely_mm": one.likely, "highest_mm": one.highest,
                   "verdict": one.verdict} for one in found.rises],
        "faults": list(found.ride.faults), "notes": list(found.notes), "written": bool(written and found.edits),
    }
