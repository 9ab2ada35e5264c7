"""How long `draw` takes as a whole process: the demo, and a train of many wagons on a plan of many pieces.

Run it by itself: `python tests/bench/bench_drawings.py [pieces]`. It measures and asserts nothing.
"""

import sys
import tempfile
from pathlib import Path

from bench_curves import DEMO, description, seconds


def main(pieces: int) -> None:
    """Print a table of call and wall time."""
    with tempfile.TemporaryDirectory() as folder:
        print(f"draw   the demo                {seconds('draw', DEMO, '-o', folder):6.2f} s")
        file = Path(folder) / "bench.toml"
        file.write_text(description(pieces))
        print(f"draw   5 wagons, {pieces:4} pieces  {seconds('draw', file, '-o', folder):6.2f} s")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100)
