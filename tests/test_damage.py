"""Damaged files and odd data load or are refused in words; and what loading costs in imports."""

import re
import subprocess
import sys
from pathlib import Path
from tempfile import mkdtemp

from hypothesis import given, settings
from hypothesis import strategies as st

from partgen.describe.description import KINDS, Description
from partgen.describe.load import examine, load
from partgen.errors import DescriptionError

ROOT = Path(__file__).parents[1]
TEXT = (ROOT / "presets" / "reading-room.toml").read_text(encoding="utf-8")
QUICK = settings(max_examples=200, deadline=None, derandomize=True, database=None)
DAMAGED = Path(mkdtemp(prefix="partgen-damaged-")) / "x.toml"
RAW = TEXT.encode()
LINES = TEXT.splitlines()
NASTY = ["nan", "-inf", "1e999", "-0.0", "0", "1e-300", "9" * 400, "0x" + "f" * 400, "true", "''", '"x"',
         "[]", "[[]]", "[1, 'a', [2]]", "{}", "{ a = { b = 1 } }", "1979-05-27", "07:32:00", '"\\u0000"',
         '"""a\nb"""', "[{ low = 1 }]", "[" * 40 + "]" * 40, '"toy-37.5"', '["espresso", "espresso"]', "-1",
         "70", '["ba\u202enk"]']
VALUE_LINES = [number for number, line in enumerate(LINES) if re.match(r"\w+ = ", line)]


def survives(raw):
    """A damaged file loads, or ends in a DescriptionError with printable faults; nothing else."""
    try:
        DAMAGED.write_bytes(raw)
        assert isinstance(load(DAMAGED), Description)
    except DescriptionError as error:
        assert error.faults and all(fault.message.isprintable() for fault in error.faults)


@QUICK
@given(st.lists(st.tuples(st.integers(0, len(RAW) - 1),
                          st.integers(0, 255) | st.sampled_from(b'0 =#"[].\n-e')), min_size=1, max_size=6))
def test_flipped_bytes_never_end_in_a_traceback(flips):
    raw = bytearray(RAW)
    for place, value in flips:
        raw[place] = value
    survives(bytes(raw))


@QUICK
@given(st.sets(st.integers(0, len(LINES) - 1), max_size=12), st.permutations(VALUE_LINES[:8]))
def test_deleted_and_shuffled_lines_never_end_in_a_traceback(gone, order):
    lines = dict(zip(VALUE_LINES[:8], (LINES[number] for number in order), strict=True))
    survives("\n".join(lines.get(n, line) for n, line in enumerate(LINES) if n not in gone).encode())


@QUICK
@given(st.dictionaries(st.sampled_from(VALUE_LINES), st.sampled_from(NASTY), min_size=1, max_size=6))
def test_swapped_values_never_end_in_a_traceback(swaps):
    lines = [f"{line.split(' = ')[0]} = {swaps[n]}" if n in swaps else line for n, line in enumerate(LINES)]
    survives("\n".join(lines).encode())


@QUICK
@given(st.recursive(st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=5),
                    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(
                        st.sampled_from([*KINDS, "standard", "gauge", "use", "name", "locomotive"]),
                        inner, max_size=4), max_leaves=20))
def test_any_data_is_examined_without_a_traceback(value):
    description, faults = examine(value if isinstance(value, dict) else {"track": value})
    assert description is None and faults


# ---- what it costs ---------------------------------------------------------------------------

def test_loading_imports_nothing_heavy_and_opens_no_preset_before_it_is_asked():
    code = ("import sys, partgen.describe.load as load, partgen.describe.presets as presets\n"
            "print(presets.catalogue.cache_info().currsize, presets.demos.cache_info().currsize)\n"
            "print(*{name.split('.')[0] for name in sys.modules})")
    opened, modules = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True,
                                     cwd=ROOT).stdout.splitlines()
    assert opened == "0 0"
    heavy = {"numpy", "scipy", "shapely", "cadquery", "trimesh", "vtk", "matplotlib", "rich"}
    assert not heavy & set(modules.split())
