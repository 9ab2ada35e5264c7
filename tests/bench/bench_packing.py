"""How long the packing of modules takes, what it reaches and what gap it leaves, and a whole `check` beside it.

Run it by itself: `python tests/bench/bench_packing.py`. It measures and asserts nothing.
"""

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from msgspec.structs import replace

from partgen.kept import FOLDER
from partgen.packing.box import Box, NoRoom, Orientation, Space, Task
from partgen.packing.explain import enough
from partgen.packing.pack import pack

sys.path.insert(0, str(Path(__file__).parents[1]))
from conftest import DEMO, bare  # noqa: E402 (it stands in the folder above)

SIZES = ((97, 46, 22, 125, 30), (69, 26, 14, 12, 25), (43, 43, 26, 27, 10), (44, 21, 14, 12, 8), (30, 16, 9, 5, 8),
         (61, 32, 16.5, 56, 6), (32, 14, 8, 4, 0), (25, 25, 12, 6, 8), (50.5, 14.5, 14.5, 24, 5), (40, 28, 12, 15, 10))
"""Length, width, height [mm], mass [g] and room before the front [mm] of the presets' modules and a few like them."""
WIRES = ((0, 1), (1, 2), (3, 4), (1, 6), (1, 9))


def box(place: int) -> Box:
    """Return the box at a place of SIZES in its four quarter turns."""
    length, width, height, mass, room = SIZES[place]
    turns = [Orientation((length, width, height) if k % 2 == 0 else (width, length, height),
                  tuple(float(room) * (face == k) for face in (0, 2, 1, 3, 4, 5))) for k in range(4)]
    return Box(f"box {place}", mass, tuple(turns), (1.0, 3.6)[place % 2], place in (0, 5), place in (3, 4, 6, 7, 9))


def instances():
    """Yield (name, task)."""
    every = tuple(box(place) for place in range(10))
    for count, width in ((4, 60), (6, 70), (8, 80), (10, 70), (10, 90)):
        wires = tuple(pair for pair in WIRES if max(pair) < count)
        yield f"{count} in {width} mm", Task(every[:count], Space((0, 400), (width, width), (0, 60)), wires)
    ten = Task(every, Space((0, 400), (70, 70), (0, 60)), WIRES)
    yield "10 on two levels", replace(ten, levels=2)
    yield "10 in 300 x 90 mm", replace(ten, space=Space((300, 300), (90, 90), (0, 60)))


def crowded(levels: int) -> str:
    """Return TOML of a train whose one wagon carries a dozen modules."""
    every = [SIZES[place % 10] for place in range(12)]
    modules = "".join(f"[module.m{k}]\nlength = {long}\nwidth = {wide}\nheight = {high}\nmass = {mass}\n"
                      f"carries = {str(k in (0, 5)).lower()}\nlies_on_top = {str(k > 5).lower()}\n"
                      for k, (long, wide, high, mass, _) in enumerate(every))
    names, wires = [f"m{k}" for k in range(12)], [[f"m{k}", f"m{(3 * k + 1) % 12}"] for k in range(11)]
    head, wagon = bare(wagon=f"modules = {names}\nlevels = {levels}\nwires = {wires}").split("[[wagon]]")
    return f"{head}{modules}[[wagon]]{wagon}"


def main() -> None:
    """Print a table of instances, then of whole processes."""
    for name, task in instances():
        start = time.perf_counter()
        found = pack(task)
        aims = ", ".join(f"{aim} {reached:g}" + (f" (none below {bound:g})" if bound < reached - 1e-9 else "")
                         for aim, reached, bound in found.aims)
        best = all(reached <= bound + 1e-9 for _, reached, bound in found.aims)
        print(f"{name:18} {time.perf_counter() - start:6.2f} s  {'best' if best else 'gap '}  {aims}")
    tight = Task(tuple(map(box, range(10))), Space((0, 200), (90, 90), (0, 60)))
    start = time.perf_counter()
    size = enough(tight) if isinstance(pack(tight), NoRoom) else ()
    print(f"why 10 do not fit  {time.perf_counter() - start:6.2f} s  it takes {size}")
    with tempfile.TemporaryDirectory() as folder:
        files = {"first check of the demo": DEMO, "further checks": DEMO}
        for levels in (1, 2):
            file = files[f"12 modules, levels = {levels}"] = Path(folder, f"{levels}.toml")
            file.write_text(crowded(levels))
        for name, file in files.items():
            start = time.perf_counter()
            done = subprocess.run([sys.executable, "-m", "partgen", "check", str(file)], capture_output=True,
                                  env={**os.environ, FOLDER: folder})
            assert done.returncode in (0, 1), done.stderr
            print(f"{name:24} {time.perf_counter() - start:6.2f} s")


if __name__ == "__main__":
    os.environ[FOLDER] = ""
    main()
