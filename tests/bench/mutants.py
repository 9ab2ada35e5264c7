"""How many small faults in the package does the test suite notice? A run over a fixed sample of them.

    python tests/bench/mutants.py [--rooms plan,checks] [--only NAME] [--list] [--jobs 2] [--json FILE]

`mutators.py` says what a fault is. The sample is spread over ROOMS by their lines of code and drawn by a
hash of the text around each fault: the same on every run, and a change elsewhere, or a move, leaves it as
it is. Each fault is put into a copy of the package, and the tests that run its line are run there, quick
ones first, up to `covering.CAP` seconds of them, until one fails. A test that no longer ends counts as
failed.

Which tests run a line is measured by coverage (`pip install coverage`), file by file, in about the time of
the whole suite in one process, and kept in the system's folder for temporary files (or `--map FILE`). After
a change of the package all of it is measured again, after a change of a test file only that. Nothing is
asserted here.

EQUIVALENT leaves out by its key (see --list) what no test could notice, with the reason.
"""

import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter, defaultdict
from concurrent.futures import ThreadPoolExecutor
from hashlib import sha256
from pathlib import Path
from queue import Queue

import click
import msgspec
from covering import PACKAGE, ROOT, Cover, measured
from mutators import Fault, applied, code_lines, compiles, faults
from under_pytest import FAILED, Record

ROOMS = ("describe", "plan", "packing", "motion", "dynamics", "checks", "printing", "parts")
COUNT = 150
SEED = "reading room"

EQUIVALENT: dict[str, str] = {
    'describe/load.py _assembled: errors = [entry for entry in error.errors(include_url=False) '
    'if entry["loc"][0] not in broken]: False -> True': "an entry's url is never read",
    **dict.fromkeys((
        "motion/sweep.py : _ALIKE = 6                      # decimals of a mm to which two neighbourhoods must agree: "
        + change for change in ("6 -> 5", "6 -> 7")), "a tolerance, as those are that are written 1e-6"),
    "motion/crossing.py _overlapped: mine, its, z = (np.concatenate(values) for values in zip(*tries, strict=True)): "
    "True -> False": "`tries` are written down there as three each",
    "checks/bed.py _longest: return (steps or 0) / FINE: 0 -> 1":
        "both are far below a share of what is longer than a bed, which is all that is asked",
}

CHILD = Path(__file__).with_name("under_pytest.py")
MAP = Path(tempfile.gettempdir()) / "partgen-mutants" / "map.json"


class Mutant(msgspec.Struct, frozen=True):
    """One fault in a file below partgen/; `text` is its line, `number` tells like ones on that line apart."""

    file: str
    fault: Fault
    text: str
    number: int

    @property
    def room(self) -> str:
        return self.file.split("/")[0]

    @property
    def name(self) -> str:
        return f"{self.file}:{self.fault.line} {self.change}"

    @property
    def key(self) -> str:
        """The name with function and text instead of the line's number."""
        return f"{self.file} {self.fault.function}: {self.text}: {self.change}"

    @property
    def change(self) -> str:
        return self.fault.change + (f" #{self.number}" if self.number > 1 else "")

    @property
    def mutated(self) -> bytes:
        """The whole file with the fault in it."""
        return applied((PACKAGE / self.file).read_bytes(), self.fault)


# The sample

def sample(count: int) -> list[Mutant]:
    """Return `count` mutants: rooms by their lines of code, lines by lot, on each line a kind by lot."""
    sizes = [sum(code_lines(path.read_bytes()) for path in (PACKAGE / room).rglob("*.py")) for room in ROOMS]
    upto = [round(count * sum(sizes[:k]) / sum(sizes)) for k in range(len(ROOMS) + 1)]
    chosen = []
    for number, room in enumerate(ROOMS):
        lines = defaultdict(list)
        for mutant in mutants_of(room):
            if mutant.key not in EQUIVALENT:
                lines[mutant.file, mutant.fault.line].append(mutant)
        drawn = sorted((min(some, key=_lot) for some in lines.values()), key=_lot)
        chosen += [mutant for mutant in drawn if compiles(mutant.mutated)][:upto[number + 1] - upto[number]]
    return chosen


def mutants_of(room: str) -> list[Mutant]:
    """Return every mutant of a room, in the order of files and text."""
    found, seen = [], Counter()
    for path in sorted((PACKAGE / room).rglob("*.py")):
        source, file = path.read_bytes(), path.relative_to(PACKAGE).as_posix()
        lines = source.decode().splitlines()
        for fault in faults(source):
            text = lines[fault.line - 1].strip()
            like = file, fault.line, fault.change
            seen[like] += 1
            found.append(Mutant(file, fault, text, seen[like]))
    return found


def _lot(mutant: Mutant) -> tuple[str, str, str]:
    """Return what line, kind and mutant are drawn by."""
    words = SEED, mutant.fault.function, mutant.text
    return tuple(sha256("\n".join(own).encode()).hexdigest()
                 for own in (words, (*words, mutant.fault.kind), (*words, mutant.change)))


# The run

def planted(folder: Path) -> Path:
    """Copy package, presets and tests into `folder`; what is compiled there goes by content, not by time."""
    listed = subprocess.run(["git", "ls-files", "-zco", "--exclude-standard"], cwd=ROOT, check=True,
                            capture_output=True, text=True)
    for name in listed.stdout.split("\0"):
        if (ROOT / name).is_file():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(ROOT / name, folder / name)
    (folder / "tmp").mkdir()
    by_content = [sys.executable, "-m", "compileall", "-q", "--invalidation-mode", "checked-hash"]
    subprocess.run([*by_content, "partgen"], cwd=folder, check=True)
    return folder


def called(tree: Path, *words) -> tuple[int, str]:
    """Run `under_pytest.py` on a tree, end what it leaves behind, return its exit code and what it said."""
    surroundings = os.environ | {"PYTHONPATH": str(tree), "TMPDIR": str(tree / "tmp")}
    with (tree / "said").open("w+") as said:
        child = subprocess.Popen([sys.executable, str(CHILD), *words], cwd=tree, env=surroundings,
                                 stdin=subprocess.DEVNULL, stdout=said, stderr=said, start_new_session=True)
        code = child.wait()
        try:
            os.killpg(child.pid, signal.SIGKILL)
        except ProcessLookupError:
            pass
        said.seek(0)
        text = said.read()
    for left in (tree / "tmp").iterdir():
        shutil.rmtree(left, ignore_errors=True)
    return code, text


def recorded(test: str, tree: Path) -> Record:
    """Return the record of a test file."""
    start, out = time.perf_counter(), tree / "record.json"
    out.unlink(missing_ok=True)
    _, said = called(tree, "record", test, out.name)
    if not out.is_file():
        raise SystemExit(f"{test} cannot be measured:\n{said}")
    record = msgspec.json.decode(out.read_bytes(), type=Record)
    left = (f"left out, as it does not pass by itself: {name}" for name in sorted(record.failed))
    print(f"{time.perf_counter() - start:6.1f} s  measured {test}: {len(record.seconds)} tests", *left,
          sep="\n          ", flush=True)
    return record


def tried(mutant: Mutant, lots: list[dict[str, float]], tree: Path) -> dict:
    """Return what became of a mutant, as plain data, after lots of tests until one fails."""
    start, path = time.perf_counter(), tree / "partgen" / mutant.file
    path.write_bytes(mutant.mutated)
    by = next(filter(None, (noticed(lot, tree) for lot in lots)), "")
    shutil.copy2(PACKAGE / mutant.file, path)
    after = mutant.mutated.decode().splitlines()[mutant.fault.line - 1].strip()
    result = {"name": mutant.name, "killed": bool(by), "by": by, "room": mutant.room,
              "kind": mutant.fault.kind, "function": mutant.fault.function,
              "before": mutant.text, "after": after, "key": mutant.key,
              "tests": sum(map(len, lots)), "seconds": round(time.perf_counter() - start, 1)}
    print(f"{result['seconds']:6.1f} s  {mutant.name}: {by or 'SURVIVED'}", flush=True)
    return result


def noticed(tests: dict[str, float], tree: Path) -> str:
    """Return which test fails on a tree, or what else goes wrong, or nothing."""
    code, failed = listed_run("first", tests, tree)
    return failed[0] if failed else OTHERWISE.get(code, f"a process that ends with {code}")


OTHERWISE = {0: "", 5: "", 2: "import", 4: "import", -signal.SIGPROF: "time"}      # exit code: what noticed


def listed_run(job: str, tests: dict[str, float], tree: Path) -> tuple[int, list[str]]:
    """Run tests on a tree and return exit code and failed ones."""
    (tree / "list.json").write_bytes(msgspec.json.encode(list(tests.items())))
    code, said = called(tree, job, "list.json") if tests else (0, "")
    return code, re.findall(rf"^{FAILED}(.+)$", said, re.MULTILINE)


def table(results) -> str:
    """Return killed and total by room and by kind of fault, and the survivors with their lines."""
    lines = []
    for heading in ("room", "kind"):
        for name in [*dict.fromkeys(result[heading] for result in results), "all"]:
            some = [result["killed"] for result in results if name in (result[heading], "all")]
            lines.append(f"{name:12} {sum(some):4} of {len(some):4}  {100 * sum(some) / len(some):5.1f} %")
        lines.append("")
    return "\n".join([*lines, *(
        f"survived {result['name']}  ({result['function']}, {result['tests']} tests)\n"
        f"  - {result['before']}\n  + {result['after']}" for result in results if not result["killed"])])


@click.command(help=__doc__.split("\n")[0])
@click.option("--rooms", default=",".join(ROOMS), help="only these, of the same sample")
@click.option("--only", multiple=True, help="every fault whose name or key holds this text, drawn or not")
@click.option("--count", default=COUNT, show_default=True, help="size of the sample over all rooms")
@click.option("--list", "listed", is_flag=True, help="print names and keys, run nothing")
@click.option("--jobs", default=1, show_default=True, help="how many at a time")
@click.option("--map", "known", default=MAP, type=Path, show_default=True, help="which tests run a line")
@click.option("--json", "out", type=Path, help="write what became of each")
def main(rooms, only, count, listed, jobs, known, out):
    every = sample(count) if not only else [mutant for room in ROOMS for mutant in mutants_of(room)]
    chosen = [mutant for mutant in every if mutant.room in rooms.split(",") and (
        not only or any(words in text for words in only for text in (mutant.name, mutant.key)))]
    if listed:
        print(*(f"{mutant.name}\n    {mutant.key}" for mutant in chosen), sep="\n")
        return
    trees, start = Queue(), time.perf_counter()

    def lent(work, *about):
        """Do `work` about something on a tree that nobody else uses meanwhile."""
        tree = trees.get()
        try:
            return work(*about, tree)
        finally:
            trees.put(tree)

    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(jobs) as pool:
        for number in range(jobs):
            trees.put(planted(Path(folder) / str(number)))
        cover = Cover(measured(known, lambda test: lent(recorded, test), jobs))
        lots = [cover.tests(mutant.file, mutant.fault) for mutant in chosen]
        results = []
        for result in pool.map(lambda mutant, its: lent(tried, mutant, its), chosen, lots):
            results.append(result)
            if out:
                out.write_bytes(msgspec.json.format(msgspec.json.encode(results), indent=1))
        print("", table(results), sep="\n", flush=True)
        wall, busy = time.perf_counter() - start, sum(os.times()[:4])
        print(f"{wall / 60:.0f} min, {busy / 60:.0f} min of processor time")
        # A test that fails on the sound package too has noticed nothing.
        killers = {result["by"]: 600.0 for result in results if "::" in result["by"]}
        _, failed = lent(listed_run, "all", killers)
        doubtful = [result for result in results if result["by"] in failed]
        print(*(f"doubtful: {result['name']}, by {result['by']}" for result in doubtful), sep="\n")


if __name__ == "__main__":
    main()
