"""How long a build takes beside a bare script that only models the same parts and writes them as STL: the first, one
after a wheelbase was changed, and one of what has not changed.

Run from the repository's root: python tests/bench/bench_build.py [DESCRIPTION [ROUNDS]]. Whole processes, one after the
other, the best of all rounds. Nothing here fails: it prints figures.
"""

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from resource import RUSAGE_CHILDREN, getrusage
from tempfile import TemporaryDirectory
from time import perf_counter

ROOT = Path(__file__).parents[2]

BARE = """
import sys
from pathlib import Path
import cadquery
from partgen.describe.load import load
from partgen.parts import build
from partgen.plan.train import resolve
train = resolve(load(sys.argv[1]))
wanted = {(item.part, item.plan): item.name for plan in train.printed for item in plan.items}
for number, ((part, plan), name) in enumerate(wanted.items()):
    shape = build(part, plan)
    cadquery.exporters.export(cadquery.Workplane(obj=shape), str(Path(sys.argv[2]) / f"{number}-{name}.stl"),
                              tolerance=0.02, angularTolerance=0.2)
"""


def took(*command: str, **environment: str) -> tuple[float, float]:
    """Return how long a command takes, by the clock and of the processors [s]."""
    before, start = getrusage(RUSAGE_CHILDREN), perf_counter()
    subprocess.run([sys.executable, *command], cwd=ROOT, check=True, capture_output=True,
                   env=os.environ | environment)
    after = getrusage(RUSAGE_CHILDREN)
    return perf_counter() - start, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def round_(description: str, folder: Path) -> Iterator[tuple[str, tuple[float, float]]]:
    """Yield what each kind of build takes, the later ones knowing what the first ones kept."""
    other = folder / "other.toml"
    text = (ROOT / description).read_text(encoding="utf-8")
    other.write_text(re.sub(r"(?m)^wheelbase = 70", "wheelbase = 71", text, count=1), encoding="utf-8")
    parts = folder / "parts"
    parts.mkdir()
    yield "bare", took("-c", BARE, description, str(parts))

    def build(name: str, cores: str, *more: str, file: str = description) -> tuple[float, float]:
        return took("-m", "partgen", "build", file, "-o", str(folder / "out"), *more,
                    PARTGEN_CORES=cores, PARTGEN_CACHE=str(folder / name))
    yield "first, no pictures, one process", build("one", "1", "--no-pictures")
    yield "first, no pictures, two", build("two", "2", "--no-pictures")
    yield "first, pictures, two", build("three", "2")
    yield "unchanged, no pictures", build("two", "2", "--no-pictures")
    yield "unchanged, pictures", build("three", "2")
    yield "a wheelbase, no pictures", build("two", "2", "--no-pictures", "--replace", file=str(other))
    yield "a wheelbase, pictures", build("three", "2", "--replace", file=str(other))


def main(description: str, rounds: int) -> None:
    """Print the best of some rounds."""
    best: dict[str, tuple[float, float]] = {}
    for _ in range(rounds):
        with TemporaryDirectory() as folder:
            for name, found in round_(description, Path(folder)):
                best[name] = min(found, best.get(name, found))
    for name, (clock, processors) in best.items():
        print(f"{name:<32} {clock:6.1f} s {clock / best['bare'][0]:5.2f} times bare, "
              f"{processors:6.1f} s of the processors {processors / best['bare'][1]:5.2f}")


if __name__ == "__main__":
    main(*sys.argv[1:2] or ["presets/reading-room.toml"], int(*sys.argv[2:3] or [1]))
