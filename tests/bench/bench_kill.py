"""A build stopped at random moments: is the earlier output whole, is anything left over, does any process live on?

    python tests/bench/bench_kill.py [MOMENTS] [SEED]

Each time a small train with another wheelbase is built where a complete build stands, with a cache and a temporary
folder of its own. INT goes to all of its processes, as from a terminal; TERM and KILL to the first one alone. Then the
train that stood there is built again, which takes what is kept: after that nothing may be left. Linux only.
Ends with 1 where anything is not as it has to be.
"""

import json
import os
import random
import signal
import subprocess
import sys
from collections import Counter
from hashlib import sha256
from pathlib import Path
from tempfile import TemporaryDirectory
from time import monotonic, sleep

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests"))

from conftest import bare  # noqa: E402 (it stands beside this folder)

STOPS = signal.SIGINT, signal.SIGTERM, signal.SIGKILL
PATIENCE = 20.0         # s until every process has to be gone
ENDS = {signal.SIGINT: {130, -2}, signal.SIGTERM: {143, -15}, signal.SIGKILL: {-9}}
"""Exit codes: a signal before the command line listens ends the process by itself, which shells tell as the same."""


class Bench:
    """One folder with a description, output, cache and temporary folder."""

    def __init__(self, folder: Path):
        self.file, self.out = folder / "one.toml", folder / "out"
        self.kept, self.temporary = folder / "kept", folder / "temporary"
        self.temporary.mkdir()
        self.world = os.environ | {"PARTGEN_CACHE": str(self.kept), "TMPDIR": str(self.temporary),
                                   "PYTHONPATH": str(ROOT), "PARTGEN_CORES": "2"}

    def build(self, wheelbase: float) -> subprocess.Popen:
        """Start to build a train of one wagon with that wheelbase [mm], in a group of processes of its own."""
        self.file.write_text(bare(wagon='modules = ["box"]').replace("wheelbase = 64", f"wheelbase = {wheelbase:.2f}"))
        command = [sys.executable, "-m", "partgen", "build", self.file, "--no-pictures", "--anyway", "-o", self.out]
        return subprocess.Popen(command, env=self.world, start_new_session=True, stdout=subprocess.DEVNULL,
                                stderr=subprocess.PIPE, text=True)

    def whole(self, digest: str | None) -> bool:
        """Is the output one complete build, file by file as its manifest tells, of the description with that digest
        where one is given?"""
        try:
            told = json.loads((self.out / "test-line" / "manifest.json").read_text())
            return digest in (None, told["description_sha256"]) and all(
                sha256((self.out / "test-line" / one["path"]).read_bytes()).hexdigest() == one["sha256"]
                for one in told["files"])
        except (OSError, ValueError):
            return False

    def left(self) -> list[str]:
        """Return what lies beside the output, in it, among temporary files and in the cache, that has no business
        there."""
        target = self.out / "test-line"
        told = json.loads((target / "manifest.json").read_text())
        own = {target / "manifest.json", *(target / one["path"] for one in told["files"])}
        own |= {parent for path in own for parent in path.parents}
        found = [path for path in self.out.rglob("*") if path not in own]
        found += [*self.temporary.iterdir(), *self.kept.glob("*/.*")]
        return [str(path.relative_to(self.out.parent)) for path in found]

    def living(self) -> list[int]:
        """Return every process that was started here, found by its environment."""
        mark, found = f"TMPDIR={self.temporary}\0".encode(), []
        for place in Path("/proc").glob("[0-9]*/environ"):
            try:
                found += [int(place.parent.name)] if mark in place.read_bytes() else []
            except OSError:
                pass
        return found


def stopped(bench: Bench, by: signal.Signals, after: float, wheelbase: float) -> tuple[int, str, float]:
    """Stop a build `after` so long [s]; return its exit code, what it said, and how long its processes lived on [s]."""
    child = bench.build(wheelbase)
    sleep(after)
    if child.poll() is None:
        (os.killpg if by == signal.SIGINT else os.kill)(child.pid, by)
    ended = child.wait(60) is None or monotonic()
    while bench.living() and monotonic() < ended + PATIENCE:
        sleep(0.02)
    lived = monotonic() - ended
    return child.returncode, child.communicate()[1] if not bench.living() else "", lived


def main(moments: int = 50, seed: int = 1) -> int:
    wander, faults, ends, longest = random.Random(seed), Counter(), Counter(), Counter()
    with TemporaryDirectory() as name:
        bench = Bench(Path(name))
        assert bench.build(64).wait() == 0
        start = monotonic()
        assert bench.build(64.5).wait() == 0            # what the next ones take, as most parts are kept
        lasts = monotonic() - start
        assert bench.build(64).wait() == 0 and bench.whole(None) and not bench.left()
        old = json.loads((bench.out / "test-line" / "manifest.json").read_text())["description_sha256"]
        print(f"a build takes {lasts:.1f} s", flush=True)
        for number in range(moments):
            by, after = STOPS[number % len(STOPS)], wander.uniform(0, 1.05 * lasts)
            code, said, lived = stopped(bench, by, after, 65 + number / 100)
            wrong = []
            wrong += [f"exit {code}"] if code not in ENDS[by] | {0} else []
            wrong += ["a traceback"] if "Traceback" in said and code not in (-2,) else []
            wrong += ["orphans"] if bench.living() else []
            wrong += ["earlier output not whole"] if not bench.whole(old if code else None) and not (
                code and bench.whole(None)) else []
            wrong += [f"left at once: {one}" for one in bench.left()] if by != signal.SIGKILL and code not in (
                -2, -15) else []
            again = bench.build(64)
            wrong += ["the next build fails"] if again.wait() else []
            again.communicate()
            wrong += ["the next output not whole"] if not bench.whole(old) else []
            wrong += [f"left after the next: {one}" for one in bench.left()]
            ends[by.name, code] += 1
            longest[by.name] = max(longest[by.name], lived)
            faults.update((by.name, one) for one in wrong)
            print(f"{number + 1:3} {by.name:<8} after {after:5.2f} s: exit {code:4}, all ended after {lived:4.2f} s; "
                  f"{'; '.join(wrong) or 'as it has to be'}", flush=True)
            if wrong and said:
                print(said, flush=True)
    for by in STOPS:
        ended = ", ".join(f"{count} with {code}" for (name, code), count in sorted(ends.items()) if name == by.name)
        print(f"{by.name:<8} {ended}; last process gone after {longest[by.name]:.2f} s at most")
    for (name, fault), count in faults.items():
        print(f"WRONG {name}: {count} times {fault}")
    return bool(faults)


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:])))
