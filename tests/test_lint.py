"""Types and lint: every function is annotated, and two readers that are not people find nothing."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]

READERS = {
    "mypy": ["mypy"],
    "ruff": ["ruff", "check", "partgen", "tests"],
}


@pytest.mark.parametrize("reader", READERS)
def test_nothing_is_found(reader, tmp_path):
    """mypy reads its settings, the package's name among them, from pyproject.toml; so does ruff."""
    cache = ["--cache-dir", str(tmp_path)]
    done = subprocess.run([sys.executable, "-m", *READERS[reader], *cache], capture_output=True, text=True, cwd=ROOT)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize(("reader", "source"), [
    ("mypy", "def bare(value):\n    return value\n"),
    ("mypy", "def wrong() -> int:\n    return 'word'\n"),
    ("ruff", "import os\n"),
    ("ruff", "pairs = zip([1], [2])\n"),
    ("ruff", f"text = '{'x' * 120}'\n"),
])
def test_a_slip_is_found(reader, source, tmp_path):
    slip = tmp_path / "slip.py"
    slip.write_text(source)
    words = {"mypy": ["mypy", "--config-file", str(ROOT / "pyproject.toml")],
             "ruff": ["ruff", "check", "--config", str(ROOT / "pyproject.toml")]}[reader]
    done = subprocess.run([sys.executable, "-m", *words, "--cache-dir", str(tmp_path / "cache"), str(slip)],
                          capture_output=True, text=True, cwd=tmp_path)
    assert done.returncode == 1, done.stdout + done.stderr
