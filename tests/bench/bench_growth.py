"""How time and memory grow with the train and with its track: `check`, and a build that knows all of its parts.

Run from the repository's root: python tests/bench/bench_growth.py [build]. One process each; nothing here fails.
"""

import os
import subprocess
import sys
from pathlib import Path
from resource import RUSAGE_CHILDREN, getrusage
from tempfile import TemporaryDirectory

ROOT = Path(__file__).parents[2]
WAGONS, PIECES = (1, 5, 20, 60), (20, 200, 2000)
ROUND = """
import sys, resource
from partgen.cli import main
try:
    main(sys.argv[1:])
finally:
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, file=sys.stderr)
"""


def described(wagons: int, pieces: int) -> str:
    """A train of so many wagons alike on a track that winds to and fro."""
    turns = ('{ go = "straight", length = 400 }', '{ go = "left", radius = 500, angle = 20 }',
             '{ go = "straight", length = 300 }', '{ go = "right", radius = 500, angle = 20 }')
    plan = ",\n".join(turns[number % 4] for number in range(pieces))
    cars = "\n".join(f'[[wagon]]\nname = "w{number}"\nwheelbase = 70\ncups = ["espresso", "espresso"]'
                     for number in range(wagons))
    return (f'title = "Growth {wagons} {pieces}"\n[track]\nuse = "toy-37.5"\nplan = [{plan}]\n'
            '[wheelset.standard]\nuse = "toy-37.5"\n[printer]\nuse = "bed-220"\n[cup.espresso]\nuse = "espresso-cup"\n'
            f'[train.locomotive]\nmass = {min(400 + 400 * wagons, 10000)}\nlength = 110\nwheelbase = 60\n'
            f'[coupler]\n[ride]\nspeed = 150\n{cars}\n')


def took(*words: str) -> tuple[float, float, int]:
    """Return processor time [s], largest memory [MB] and exit code of a command."""
    before = getrusage(RUSAGE_CHILDREN)
    done = subprocess.run([sys.executable, "-c", ROUND, *words], cwd=ROOT, capture_output=True, text=True,
                          env=os.environ | {"PARTGEN_CORES": "1"})
    after = getrusage(RUSAGE_CHILDREN)
    used = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return used, float(done.stderr.split()[-1]), done.returncode


def main(command: str = "check") -> None:
    """Print one line for every size."""
    for wagons, pieces in [*((number, 20) for number in WAGONS), *((1, number) for number in PIECES)]:
        with TemporaryDirectory() as folder:
            file = Path(folder) / "line.toml"
            file.write_text(described(wagons, pieces), encoding="utf-8")
            more = ["-o", folder, "--no-pictures", "--anyway"] if command == "build" else ["--json"]
            used, memory, code = took(command, str(file), *more)
            print(f"{command} of {wagons:>3} wagons on {pieces:>5} pieces: {used:7.2f} s of the processor, "
                  f"{memory:6.0f} MB, exit {code}", flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
