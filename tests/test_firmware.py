"""The constants for the controller: read back, compiled, and played by a controller that knows nothing else."""

import json
import re
import shutil
import subprocess

import pytest
from loops import loop
from msgspec.structs import replace

from partgen.export.firmware import ride_header, ride_json


def header_numbers(text):
    """Read a header back with nothing but patterns: singles and tables."""
    single = {name.lower(): float(value) for name, value in
              re.findall(r"#define RIDE_(\w+) +([-\d.e]+)[fu]  /\*", text)}
    series = {name: [[float(x) for x in re.findall(r"([-\d.e]+)[fu]", row)]
                     for row in (re.findall(r"\{([^{}]*)\}", body) or re.findall(r"([-\d.e]+f)", body))]
              for name, body in re.findall(r"static const \w+ ride_(\w+)\[[^=]*= \{\n(.*?)\n\};", text, re.DOTALL)}
    return single, series


def test_header_and_json_agree(gentle):
    single, series = header_numbers(ride_header(gentle, "0" * 64))
    told = json.loads(ride_json(gentle, "0" * 64))
    assert single == {name: float(one["value"]) for name, one in told["constants"].items()}
    assert series == {name: [[float(x) for x in row] for row in one["rows"]] for name, one in told["tables"].items()}
    assert all(one["unit"] for one in told["constants"].values())
    assert len(series["stop_ramp"]) * single["step_samples"] * 0.013 >= gentle.ramps.fall.time
    assert [row[1] for row in series["run_1"]] == pytest.approx(
        [leg.after for leg in gentle.runs[0].legs if not leg.held and leg.after], abs=0.1)


def test_a_plan_without_curves_has_no_table_of_them(gentle):
    assert len(json.loads(ride_json(gentle, "0" * 64))["tables"]["curves"]["rows"]) == len(gentle.curves) > 0
    straight = replace(gentle, curves=())
    assert "curves" not in json.loads(ride_json(straight, "0" * 64))["tables"]
    assert "curves" not in header_numbers(ride_header(straight, "0" * 64))[1]


def test_words_of_the_maker_do_not_break_the_header(gentle):
    text = ride_header(gentle, "0" * 64)
    assert text.isascii() and "tea _/ kitchen" in text and text.count("/*") == text.count("*/")
    assert "Fensterplätze" in ride_json(gentle, "0" * 64)


@pytest.mark.skipif(not shutil.which("cc"), reason="no C compiler here")
def test_header_compiles_and_a_program_reads_its_numbers(gentle, tmp_path):
    (tmp_path / "ride.h").write_text(ride_header(gentle, "0" * 64))
    (tmp_path / "main.c").write_text("""
#include "ride.h"
#include "ride.h"
#include <stdio.h>
int main(void) {
    double way = 0;
    for (unsigned k = 0; k < RIDE_STOP_RAMP_COUNT; k++) way += (1 - ride_stop_ramp[k]) * RIDE_STEP_SAMPLES;
    printf("%.6f %.6f %u\\n", way * RIDE_SAMPLE_TIME, RIDE_STOP_WAY, (unsigned) ride_run_1[0].after);
    return 0;
}
""")
    flags = "-std=c99 -Wall -Wextra -pedantic -Werror".split()
    subprocess.run(["cc", *flags, "-o", tmp_path / "main", tmp_path / "main.c"], check=True)
    way, said, first = subprocess.run([tmp_path / "main"], capture_output=True, text=True, check=True).stdout.split()
    assert float(way) == pytest.approx(float(said), abs=2e-4) and first == "0"


def played(single, series, number, start, marker, lap, phase, glitch):
    """Play a controller that knows only the constants: from stop to stop, sample by sample; return where it stands."""
    sample, hold = single["sample_time"], int(single["step_samples"])
    station, speed, old, ramp_at, table, seen, braking = start, 0.0, 0.0, None, None, 0, False
    steps, target = list(series[f"run_{number}"]), 0.0
    station += 0.0
    for tick in range(200_000):
        over = (station - single["sensor_behind"] - marker[0]) % lap if lap else station - marker[0]
        on = 0 <= over < marker[1] or tick == glitch
        seen = seen + 1 if on else 0
        if not braking and seen >= single["marker_samples"]:
            old, target, ramp_at, table, braking = speed, 0.0, tick, series["stop_ramp"], True
        elif not braking and steps and tick >= steps[0][0]:
            old, target, ramp_at = speed, steps.pop(0)[1], tick
            table = series["start_ramp"] if target > old else series["stop_ramp"]
        if table is not None:
            step = (tick - ramp_at) // hold
            speed = old + (target - old) * table[step][0] if step < len(table) else target
        if braking and speed == 0:
            return station
        station += speed * (sample if tick else phase * sample)
    raise AssertionError("never stopped")


@pytest.mark.parametrize("phase", [0.05, 0.35, 0.65, 0.95])
def test_sampled_controller_stops_at_the_stop(gentle, phase):
    single, series = header_numbers(ride_header(gentle, "0" * 64))
    for number, (one, marker) in enumerate(zip(gentle.runs, gentle.markers, strict=True), 1):
        stands = played(single, series, number, one.start, series["markers"][number - 1], gentle.lap, phase,
                        glitch=150)
        # never past its place but for the header's tenths of a millimetre, and early by one sample's way at most
        assert -marker.early - 0.3 <= stands - one.end <= 0.3


def test_controller_that_misses_its_constants_stops_elsewhere(gentle):
    single, series = header_numbers(ride_header(gentle, "0" * 64))
    moved = [series["markers"][0][0] + 40, *series["markers"][0][1:]]
    stands = played(single, series, 1, gentle.runs[0].start, moved, gentle.lap, 0.5, glitch=-1)
    assert stands - gentle.runs[0].end == pytest.approx(40, abs=gentle.markers[0].early + 0.3)


def test_fine_samples_make_no_endless_table():
    fine = loop("speed = 250\nsample_time = 0.0005\nstop_time = 2")
    _, series = header_numbers(ride_header(fine, "0" * 64))
    assert fine.step_samples > 1 and len(series["stop_ramp"]) <= 200
