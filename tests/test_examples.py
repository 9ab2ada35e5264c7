"""A red run can be repeated: a test draws the same examples alone, in the whole run, and in either process."""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]

DRAWN = """
import conftest
from hypothesis import given, settings, strategies as st
{first}
drawn = []

@settings(max_examples=300)
@given(st.floats(0.1, 400), st.integers(1, 5000))
def draw(x, n):
    drawn.append((x, n))

draw()
print(hash(tuple(drawn)), len(set(drawn)))
"""
LOADED = "import partgen.plan.train, partgen.checks.on_plan, partgen.remedies.tune, partgen.packing.solver"
NUMBERS = "from hypothesis.internal.conjecture import providers; providers.is_local_module_file = lambda path: True"


def drawn(*first):
    """Return what a fresh process draws after running some lines first."""
    done = subprocess.run([sys.executable, "-c", DRAWN.format(first="\n".join(first))], cwd=ROOT, text=True,
                          capture_output=True, env=os.environ | {"PYTHONPATH": f"{ROOT}{os.pathsep}{ROOT / 'tests'}"})
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_examples_do_not_hang_on_the_modules_that_are_loaded():
    few = drawn()
    assert few == drawn(LOADED) and int(few.split()[1]) > 200


def test_they_would_if_the_package_lent_its_numbers():
    """Else the switch in conftest.py has no effect any more, or is not needed."""
    assert drawn(NUMBERS) != drawn(NUMBERS, LOADED)
