"""Estimates against what a general-purpose slicing program makes of the same meshes (see `bench/bench_slicing.py`)."""

import json
from functools import cache, reduce
from operator import add
from pathlib import Path

import numpy as np
import pytest
from trimesh import Trimesh

from partgen.describe.printer_tables import Printer
from partgen.printing.estimate import estimate

HERE = Path(__file__).parent
JOBS = json.loads((HERE / "sliced.json").read_text())
CASES = [(number, name) for number, job in enumerate(JOBS) for name in job["parts"]]
PART, PLATE, FILAMENT = 0.2, 0.1, 0.04


@cache
def estimated(number, name):
    """The estimate of a sliced part by the printer of that job."""
    with np.load(HERE / "sliced.npz") as kept:
        mesh = Trimesh(kept[f"{name} vertices"] / 1000, kept[f"{name} faces"], process=False)
    return estimate(mesh, Printer(**JOBS[number]["printer"]))


@pytest.mark.parametrize("number, name", CASES)
def test_a_part_takes_what_the_slicing_program_says(number, name):
    found, sliced = estimated(number, name), JOBS[number]["parts"][name]
    assert found.time == pytest.approx(sliced["print_time_s"], rel=PART)
    assert found.filament == pytest.approx(sliced["filament_mm"], rel=FILAMENT)


@pytest.mark.parametrize("plate", JOBS[0]["plates"], ids=lambda plate: next(iter(plate["holds"])))
def test_a_plate_takes_what_the_slicing_program_says(plate):
    found = reduce(add, (estimated(0, name) * count for name, count in plate["holds"].items()))
    assert found.time == pytest.approx(plate["print_time_s"], rel=PLATE)
    assert found.filament == pytest.approx(plate["filament_mm"], rel=FILAMENT)


@pytest.mark.parametrize("number", range(len(JOBS)))
def test_all_parts_together_come_nearer_than_each(number):
    for figure, kept in (("time", "print_time_s"), ("filament", "filament_mm")):
        ours = sum(getattr(estimated(number, name), figure) for name in JOBS[number]["parts"])
        assert ours == pytest.approx(sum(part[kept] for part in JOBS[number]["parts"].values()), rel=0.05)
