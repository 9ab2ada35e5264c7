"""What goes into the train's controller: the ride as constants, a C header and the same numbers as JSON, and the
program that drives the train by them."""

import json
import re
from collections.abc import Iterable, Iterator
from math import ceil, floor
from pathlib import Path
from typing import Any
from zlib import crc32

from msgspec import Struct

from partgen import __version__
from partgen.dynamics.markers import READINGS
from partgen.dynamics.ride import RidePlan
from partgen.finding import down

ABOUT_STEP = "samples since the train left its stop, the speed [mm/s] to go to, and how far [mm] it has come by then"
RUNS = "runs"
PROGRAM = Path(__file__).with_name("controller")


class Constant(Struct, frozen=True):
    """One number: name, value, unit ("1" for none) and what it is."""

    name: str
    value: float | int
    unit: str
    about: str


class Series(Struct, frozen=True):
    """A table: name, what it is, its columns as (name, unit), and its rows."""

    name: str
    about: str
    columns: tuple[tuple[str, str], ...]
    rows: tuple[tuple[float | int, ...], ...]


def constants(ride: RidePlan) -> tuple[Constant, ...]:
    """Return every single number that the controller needs."""
    wished, fall, rise = ride.train.description.ride, ride.ramps.fall, ride.ramps.rise
    return (
        Constant("sample_time", round(wished.sample_time, 6), "s", "between two readings of the track sensor"),
        Constant("speed", _tenths(ride.speed), "mm/s", "highest speed of the whole ride"),
        Constant("marker_samples", READINGS, "samples", "readings on a marker in a row before it counts"),
        Constant("step_samples", ride.step_samples, "samples", "each entry of a ramp is held for these"),
        Constant("stop_time", round(fall.time, 4), "s", "from any speed to standstill by the stop ramp"),
        Constant("start_time", round(rise.time, 4), "s", "from standstill to any speed by the start ramp"),
        Constant("stop_way", round(fall.way(1.0, 0.0), 5), "s",
                 "way of the stop ramp [mm] over the speed it starts from [mm/s]"),
        Constant("start_way", round(rise.way(0.0, 1.0), 5), "s",
                 "way of the start ramp [mm] over the speed it goes to [mm/s]"),
        Constant("lap", round(ride.lap, 1), "mm", "length of the closed plan; 0 for an open line"),
        Constant("train_length", round(ride.length, 1), "mm", "locomotive's front to the last wagon's end"),
        Constant("sensor_behind", round(ride.sensor.behind, 1), "mm", "sensor behind the locomotive's front"),
    )


def tables(ride: RidePlan) -> tuple[Series, ...]:
    """Return every table that the controller needs."""
    ramps = [Series(f"{name}_ramp", f"{word}: share of the change of speed that is done, held for one step each",
                    (("share", "1"),), tuple((round(float(value), 4),) for value in ramp.steps(ride.step)))
             for name, word, ramp in (("stop", "stopping, and slowing down", ride.ramps.fall),
                                      ("start", "starting, and speeding up", ride.ramps.rise))]
    curves = Series("curves", "highest speed by curve radius", (("radius", "mm"), ("speed", "mm/s")),
                    tuple((round(c.radius, 1), _tenths(c.speed)) for c in ride.curves))
    markers = Series("markers", "marker of each stop, stations along the plan",
                     (("begins", "mm"), ("length", "mm"), ("stop", "mm"), ("speed", "mm/s"), ("ahead", "mm")),
                     tuple((round(m.begins, 1), m.length, round(m.station, 1), _tenths(m.speed), round(m.ahead, 1))
                           for m in ride.markers))
    each = tuple(_runs(ride))
    runs = Series(RUNS, "the runs in their order, from stop to stop; each ends at the marker of the same number",
                  (("steps", "samples"), ("length", "mm")),
                  tuple((len(steps.rows), round(run.end - run.start, 1))
                        for steps, run in zip(each, ride.runs, strict=True)))
    return (*ramps, *([curves] if curves.rows else []), markers, *each, runs)


def figures(ride: RidePlan) -> dict[str, float | list[tuple[float | int, ...]]]:
    """Return all that the controller needs by name, a number, a table's rows or the program's checksum: what has
    changed is told by these."""
    program = {"program": crc32("".join(_program(ride).values()).encode())} if ride.sensor.wagon else {}
    return {**{one.name: one.value for one in constants(ride)}, **{one.name: [*one.rows] for one in tables(ride)},
            **program}


def _runs(ride: RidePlan) -> Iterator[Series]:
    """Yield the steps of every run: slowing down a sample early, speeding up a sample late; the marker ends it."""
    sample = ride.train.description.ride.sample_time
    for number, run in enumerate(ride.runs, 1):
        rows, now = [], 0.0
        for leg in run.legs:
            if not leg.held and leg.after > 0:
                when = floor if leg.after < leg.before else ceil
                rows.append((when(round(now / sample, 6)), _tenths(leg.after), round(leg.start - run.start, 1)))
            now += leg.time
        yield Series(f"run_{number}", f"{run.origin} to {run.goal}: {ABOUT_STEP}",
                     (("after", "samples"), ("speed", "mm/s"), ("way", "mm")), tuple(rows))


def _tenths(speed: float) -> float:
    """Round a speed down, so that no limit is passed by its last digit."""
    return float(down(speed))


# ---- as files

def files(ride: RidePlan, digest: str) -> dict[str, str]:
    """Return the text of every file for the controller by name: the constants, and the program that drives the train by
    them where it has a track sensor."""
    return {"ride.h": ride_header(ride, digest), "ride.json": ride_json(ride, digest), **_program(ride)}


def _program(ride: RidePlan) -> dict[str, str]:
    return {name: (PROGRAM / name).read_text(encoding="utf-8") for name in ("train.h", "train.c")
            if ride.sensor.wagon}


def ride_json(ride: RidePlan, digest: str) -> str:
    """Return the constants as JSON text: every number with its unit, tables by columns with theirs."""
    def lines(entries: Iterable[tuple[str, dict[str, Any]]]) -> str:
        return ",\n".join(f"  {json.dumps(name)}: {json.dumps(body, ensure_ascii=False)}" for name, body in entries)
    head = {"program": f"partgen {__version__}", "title": ride.train.description.title, "description_sha256": digest}
    single = lines((c.name, {"value": c.value, "unit": c.unit, "about": c.about}) for c in constants(ride))
    series = lines((s.name, {"about": s.about, "columns": [{"name": name, "unit": unit} for name, unit in s.columns],
                             "rows": s.rows}) for s in tables(ride))
    return (json.dumps(head, indent=1, ensure_ascii=False).rstrip("\n}")
            + f',\n "constants": {{\n{single}\n }},\n "tables": {{\n{series}\n }}\n}}\n')


def ride_header(ride: RidePlan, digest: str) -> str:
    """Return the constants as a C99 header that needs nothing but <stdint.h>."""
    lines = [f"/* {_plain(ride.train.description.title)}: constants of the ride, worked out by partgen {__version__}.",
             f" * Description sha256 {digest}. Change the description, not this file.",
             " *",
             " * Every change of speed follows a ramp: speed = from + (to - from) * share, each share held for",
             " * RIDE_STEP_SAMPLES samples. RIDE_MARKER_SAMPLES readings on a marker start the stop ramp. */",
             "#ifndef PARTGEN_RIDE_H", "#define PARTGEN_RIDE_H", "", "#include <stdint.h>", ""]
    lines += [f"#define {'RIDE_' + c.name.upper():<22} {_number(c.value, c.unit):>11}  /* [{c.unit}] {c.about} */"
              for c in constants(ride)]
    lines += ["", "/* after: [samples], speed: [mm/s], way: [mm] */",
              "typedef struct { uint32_t after; float speed, way; } ride_step;", "",
              "/* steps: a table of them, count: how many, length: [mm] from stop to stop */",
              "typedef struct { const ride_step *steps; uint32_t count; float length; } ride_run;"]
    for series in tables(ride):
        lines += ["", *_table(series)]
    return "\n".join([*lines, "", "#endif", ""])


def _table(series: Series) -> Iterator[str]:
    """Yield the lines of one table: rows one to a line, a single column eight to a line."""
    count = f"RIDE_{series.name.upper()}_COUNT"
    units = ", ".join(f"{name} [{unit}]" for name, unit in series.columns)
    yield f"/* {_plain(series.about)}"
    yield f" * {units} */"
    yield f"#define {count} {len(series.rows)}"
    steps = series.columns[0][1] == "samples"
    kind = "ride_run" if series.name == RUNS else "ride_step" if steps else "float"
    width = "" if len(series.columns) == 1 or steps else f"[{len(series.columns)}]"
    yield f"static const {kind} ride_{series.name}[{count}]{width} = {{"
    rows = [", ".join(_number(value, unit) for value, (_, unit) in zip(row, series.columns, strict=True))
            for row in series.rows]
    if series.name == RUNS:
        rows = [f"{{ride_run_{number}, {row}}}" for number, row in enumerate(rows, 1)]
    elif len(series.columns) == 1:
        rows = [", ".join(rows[k:k + 8]) for k in range(0, len(rows), 8)]
    else:
        rows = [f"{{{row}}}" for row in rows]
    yield from (f"    {row}," for row in rows)
    yield "};"


def _number(value: float, unit: str) -> str:
    """Write a number as C: samples and counts whole, all else as float."""
    return f"{int(value)}u" if unit == "samples" else f"{float(value)!r}f"


def _plain(text: str) -> str:
    """Keep of a maker's own words what can neither end a C comment nor surprise a compiler."""
    return re.sub(r"[^A-Za-z0-9 .,:;()/\[\]+-]+", "_", text)
