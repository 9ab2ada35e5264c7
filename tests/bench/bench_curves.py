"""How long `check` and `tune` of a long train on a long plan take, as whole processes.

Run it by itself: `python tests/bench/bench_curves.py [pieces]`. It measures and asserts nothing.
"""

import subprocess
import sys
import tempfile
import time
from pathlib import Path
from random import Random

WHEELBASES = (56, 58, 60, 62, 64)
DEMO = Path(__file__).parents[2] / "presets" / "reading-room.toml"


def description(pieces: int, seed: int = 5) -> str:
    """Return TOML of five wagons on a plan of random straights and curves, wide enough to cross itself anywhere."""
    random = Random(seed)
    lines = []
    for _ in range(pieces):
        way = random.choice(("straight", "left", "right"))
        if way == "straight":
            lines.append('{ go = "straight", length = 150 },')
        else:
            lines.append(f'{{ go = "{way}", radius = {random.randint(321, 520)}, angle = 22.5 }},')
    wagons = [f'[[wagon]]\nname = "{name}"\nwheelbase = {base}\ncups = ["cup"]\n'
              for name, base in zip(("first", "second", "third", "fourth", "fifth"), WHEELBASES, strict=True)]
    return "\n".join(['title = "Bench"', "invented = true", '[track]', 'use = "toy-37.5"', "plan = [", *lines, "]",
                      '[wheelset.standard]', 'use = "toy-37.5"', '[coupler]', 'use = "magnet-6x3"', "gap = 16",
                      '[printer]', 'use = "bed-220"', '[cup.cup]', 'use = "espresso-cup"', *wagons])


def seconds(*words) -> float:
    """Return the wall time [s] of one `partgen` process, the best of three for quick ones."""
    times = []
    while len(times) < (3 if not times or times[0] < 3 else 1):
        start = time.perf_counter()
        done = subprocess.run([sys.executable, "-m", "partgen", *map(str, words)], capture_output=True, text=True)
        times.append(time.perf_counter() - start)
        if done.returncode not in (0, 1):
            raise SystemExit(done.stderr)
    return min(times)


def main(pieces: int) -> None:
    """Print a table of call and wall time."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "bench.toml"
        for count in (pieces, 2 * pieces, 4 * pieces):
            file.write_text(description(count))
            print(f"check  5 wagons, {count:4} pieces  {seconds('check', file):6.2f} s")
        file.write_text(description(pieces))
        print(f"tune   5 wagons, {pieces:4} pieces  {seconds('tune', file):6.2f} s")
    print(f"check  the demo                {seconds('check', DEMO):6.2f} s")
    print(f"tune   the demo                {seconds('tune', DEMO):6.2f} s")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100)
