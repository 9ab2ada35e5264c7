"""What `check` accepts, `build` accepts, whatever the printer, its lines and filament, the mounts and the lights.

The judge is the checks on the drawn solids, which know nothing of the plan's sizes. `tests/bench/bench_printers.py`
goes on with more trains.
"""

from itertools import count, islice

import pytest
from trains.printers import accepted, printed_description

from partgen.checks import on_solids
from partgen.pipeline import workshop

pytestmark = pytest.mark.slow

FIRST, TRAINS = 10138, 3


def test_trains_that_check_accepts_are_built_without_a_fault():
    """The first few from a seed on whose trains are fine and coarse, lit, in trays and on bosses."""
    drawn = (accepted(printed_description(seed)) for seed in count(FIRST))
    for train in islice((train for train in drawn if train), TRAINS):
        made, _ = workshop.make(train, {}, lambda what, share: None)
        assert [(found.check, found.remedy) for found in on_solids.run(made) if found.verdict == "fail"] == []
