"""What `check` accepts, `build` accepts, whatever the printer, its lines and filament, the mounts and the lights.

The judge is the checks on the drawn solids, which know nothing of the plan's sizes. `tests/bench/bench_printers.py`
draws more trains; `tests/found` holds some that it found at fault, by the width of their lines: coarse lines in coupler
and seats, a holder that the kernel left open, two sensors in one place.
"""

from pathlib import Path

import pytest
from trains.printers import accepted

from partgen.checks import on_solids
from partgen.pipeline import workshop

pytestmark = pytest.mark.slow

FOUND = sorted(Path(__file__).with_name("found").glob("*.toml"))


def test_trains_that_check_accepts_are_built_without_a_fault():
    """The first few from a seed on whose trains are fine and coarse, lit, in trays and on bosses."""
    drawn = (accepted(printed_description(seed)) for seed in count(FIRST))
    for train in islice((train for train in drawn if train), TRAINS):
        made, _ = workshop.make(train, {}, lambda what, share: None)
        assert [(found.check, found.reason) for found in on_solids.run(made) if found.verdict == "fail"] == []
