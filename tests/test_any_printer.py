"""What `check` accepts, `build` accepts, whatever the printer, its lines and filament, the mounts and the lights.

The judge is the checks on the drawn solids, which know nothing of the plan's sizes. `tests/bench/bench_printers.py`
goes on with more trains.
"""

import pytest
from trains.printers import accepted, printed_description

from partgen.checks import on_solids
from partgen.pipeline import workshop

pytestmark = pytest.mark.slow

ACCEPTED = (10016, 10074, 10090, 10130)
"""Seeds of trains that `check` accepted as this was written: fine and coarse, strapped, in trays, on bosses, lit."""


@pytest.mark.parametrize("seed", ACCEPTED)
def test_a_train_that_check_accepts_is_built_without_a_fault(seed):
    train = accepted(printed_description(seed))
    if train is None:
        pytest.skip("refused on paper by now")
    made, _ = workshop.make(train, {}, lambda what, share: None)
    assert [(found.check, found.remedy) for found in on_solids.run(made) if found.verdict == "fail"] == []
