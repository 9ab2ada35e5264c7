"""What of random trains that `check` accepts the solids refuse, over printers, filaments, mounts and lights.

Run it by itself: `python tests/bench/bench_printers.py [trains] [first seed]`. It prints and asserts nothing.
"""

import sys
import time
from itertools import count
from pathlib import Path

from partgen.checks import on_solids
from partgen.kept import Store
from partgen.pipeline import workshop


def main(wanted: int = 200, first: int = 0) -> None:
    """Draw trains until `wanted` are accepted; print each that a check on its solids fails."""
    sys.path.insert(0, str(Path(__file__).parents[1]))
    from trains.printers import accepted, printed_description
    built = refused = 0
    start = time.process_time()
    for seed in count(first):
        if built == wanted:
            break
        if (train := accepted(printed_description(seed))) is None:
            continue
        built += 1
        try:
            made, _ = workshop.make(train, Store())
            told = [f"{f.check} {f.subject}: {f.value:.3g} {f.sense} {f.limit:.3g}, {f.reason}"
                    for f in on_solids.run(made) if f.verdict == "fail"]
        except Exception as error:
            told = [f"{type(error).__name__}: {error}"]
        refused += bool(told)
        printer = train.description.printer
        print(f"seed {seed}: line {printer.line_width:g}, layer {printer.layer:g}", "; ".join(told) or "ok", flush=True)
    print(f"{built} accepted of {seed - first} drawn, {refused} refused, {time.process_time() - start:.0f} s of CPU")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
