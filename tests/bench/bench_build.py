"""How long a full build takes beside a bare script that only models the same parts and writes them as STL.

Run from the repository's root: python tests/bench/bench_build.py [DESCRIPTION]. Whole processes, one after the other,
the best of three. Nothing here fails: it prints figures.
"""

import subprocess
import sys
from pathlib import Path
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


def seconds(*command) -> float:
    """Return how long a command takes [s] in a folder that is thrown away."""
    with TemporaryDirectory() as folder:
        start = perf_counter()
        subprocess.run([sys.executable, *command, folder], cwd=ROOT, check=True, capture_output=True)
        return perf_counter() - start


def main(description: str) -> None:
    commands = {"bare": ("-c", BARE, description), "build": ("-m", "partgen", "build", description, "-o"),
                "build without pictures": ("-m", "partgen", "build", description, "--no-pictures", "-o")}
    best = {}
    for name, command in commands.items():
        best[name] = min(seconds(*command) for _ in range(3))
        print(f"{name:<24} {best[name]:6.1f} s  {best[name] / best['bare']:5.2f} times the bare script", flush=True)


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "presets/reading-room.toml")
