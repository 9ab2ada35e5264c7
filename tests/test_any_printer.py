"""What `check` accepts, `build` accepts, whatever the printer, its lines and filament, the mounts and the lights.

The judge is the checks on the drawn solids, which know nothing of the plan's sizes. `tests/bench/bench_printers.py`
draws more trains; `tests/found` holds some that it found at fault, by the width of their lines: coarse lines in coupler
and seats, a holder that the kernel left open, two sensors in one place, a boss and a switch close
to walls, a sensor's lug by a rib; a switch whose thinned wall ran into the opening of the port beside it; an
opening's level top in a rounded corner, and its slopes under a bead; a wheel's boss, and sockets of two clips, thinner
or closer than a line; a mark cut into a rib, a seat that leans over the border beside
it, and one that a driver's way just grazes, whose volume the kernel integrated amiss.
"""

from pathlib import Path

import pytest
from trains.printers import accepted

from partgen.checks import on_solids
from partgen.kept import Store
from partgen.pipeline import workshop

pytestmark = pytest.mark.slow

FOUND = sorted(Path(__file__).with_name("found").glob("*.toml"))


@pytest.mark.parametrize("file", FOUND, ids=[file.stem for file in FOUND])
def test_a_train_that_check_accepts_is_built_without_a_fault(file):
    train = accepted(file.read_text(encoding="utf-8"))
    made, _ = workshop.make(train, Store())
    assert [(found.check, found.reason) for found in on_solids.run(made) if found.verdict == "fail"] == []
