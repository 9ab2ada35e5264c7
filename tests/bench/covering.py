"""Which tests may notice a fault: the map of lines and tests, and the order in which tests are tried."""

import ast
import re
from collections import defaultdict
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from hashlib import sha256
from math import inf
from pathlib import Path

import msgspec
from mutators import Fault
from under_pytest import Record

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "partgen"

# All in seconds of processor time, as measured for the map.
FIRST = "tests/test_known.py"       # what notices most: tried before all others, its tests that take up to LONG
LONG = 10.0
CAP = 30.0              # of further tests for one fault
QUICK = 1.0             # tests that take longer come after all others
SAMPLE = 4.0            # of tests that are run first, by themselves: most faults need no more
OTHERS = 4.0            # of all tests, where few are known to read what is bound at import
PATIENCE = 20.0, 5.0    # and times the longest test of its file: after that, a test no longer ends


class Cover:
    """Which tests run what, from the records of all test files."""

    def __init__(self, records: dict[str, Record]):
        self.records = records
        self.texts = {file: (ROOT / file).read_text(encoding="utf-8") for file in records}
        self.reach = {test: 0 for record in records.values() for test in record.seconds}
        for run in (run for record in records.values() for run in record.lines.values()):
            for test, lines in run.items():
                self.reach[test] += len(lines)
        self.read, self.bound = defaultdict(set), defaultdict(set)
        for path in sorted(PACKAGE.rglob("*.py")):
            self._index(path.relative_to(PACKAGE).as_posix(), ast.parse(path.read_bytes()))

    def tests(self, file: str, fault: Fault) -> list[dict[str, float]]:
        """Return node id: time limit [s] of the tests to try, in their order: the FIRST, then up to CAP seconds, in two
        lots.

        Of those first the ones that run the line, or that read or speak of what it binds at import. Then those beside
        them in their files, which may see what a fixture or a cache keeps of the first run. For what runs at
        import, then all others. Where no test runs the line, those that run anything in its file.
        """
        direct = self._running(self._lines(file, fault)) or self._running({(file, None)})
        spoken = re.compile("|".join(rf"\b{name}\b" for name in fault.names) or "(?!)")
        shouted = any(name.isupper() for name in fault.names)   # a constant; a field's name is a common word
        ranked = []
        for test_file, record in self.records.items():
            says, own = spoken.search(self.texts[test_file]), direct & record.seconds.keys()
            # Tests that run little else are likely to look closely.
            reach = min((self.reach[test] for test in own), default=0)
            for test in record.seconds.keys() - record.failed:
                tier = 0 if test in own or says and shouted else 1 if own or says else 2
                if tier < 2 or fault.names:
                    seconds = record.seconds[test]
                    ranked.append((tier, seconds > QUICK, reach, test_file, seconds, test))
        kept = [(0, False, 0, FIRST, seconds, test) for test, seconds in self.records[FIRST].seconds.items()
                if seconds < LONG] if FIRST in self.records else []
        return [*self._lots(kept, inf), *self._lots(sorted(ranked), CAP)]

    def _lots(self, ranked, most: float) -> list[dict[str, float]]:
        spent, lots = 0.0, ({}, {})
        for tier, *_, file, seconds, test in ranked:
            cap = OTHERS if tier == 2 else most
            if spent + seconds <= cap or not spent:
                lot = lots[spent + seconds > SAMPLE]
                lot[test] = PATIENCE[0] + PATIENCE[1] * max(self.records[file].seconds.values())
                spent += seconds
        return [lot for lot in lots if lot]

    def _running(self, lines) -> set[str]:
        return {test for record in self.records.values() for file, line in lines
                for test, run in record.lines.get(file, {}).items() if line is None or line in run}

    def _lines(self, file: str, fault: Fault) -> set[tuple[str, int | None]]:
        """Return (file, line) of what runs the fault, or reads what it binds, also by way of constants."""
        low, high = fault.lines
        names, new = set(), set(fault.names)
        while new:
            names |= new
            new = {other for name in new for other in self.bound[name] if other.isupper()} - names
        return {(file, line) for line in range(low, high + 1)}.union(*(self.read[name] for name in names))

    def _index(self, file: str, tree):
        """Note where functions read a name, and what is bound at import with the help of one."""
        functions = [node for node in ast.walk(tree) if isinstance(node, (ast.FunctionDef, ast.Lambda))]
        inside = {id(node) for function in functions for node in ast.walk(function)}
        for node in ast.walk(tree):
            name = _name(node)
            if name and id(node) in inside:
                self.read[name].add((file, node.lineno))
            elif isinstance(node, (ast.Assign, ast.AnnAssign)) and id(node) not in inside:
                every = [(_name(one), isinstance(one.ctx, ast.Store)) for one in ast.walk(node) if _name(one)]
                for name in {name for name, stored in every if not stored}:
                    self.bound[name] |= {name for name, stored in every if stored}


def _name(node) -> str:
    return node.id if isinstance(node, ast.Name) else node.attr if isinstance(node, ast.Attribute) else ""


def measured(known: Path, measure: Callable[[str], Record], jobs: int) -> dict[str, Record]:
    """Return the record of every test file, from the map in file `known` where it still holds."""
    records = msgspec.json.decode(known.read_bytes(), type=dict[str, Record]) if known.is_file() else {}
    tests = sorted((ROOT / "tests").glob("test_*.py"))
    common = _digest(*sorted(PACKAGE.rglob("*.py")), *sorted((ROOT / "presets").rglob("*.toml")),
                     *sorted({*(ROOT / "tests").glob("*.py")}.difference(tests)))
    digests = {f"tests/{path.name}": common + _digest(path) for path in tests}
    old = [test for test, digest in digests.items() if records.get(test, Record()).digest != digest]
    with ThreadPoolExecutor(jobs) as pool:
        for test, record in zip(old, pool.map(measure, old), strict=True):
            records[test] = msgspec.structs.replace(record, digest=digests[test])
            known.parent.mkdir(parents=True, exist_ok=True)
            known.write_bytes(msgspec.json.encode(records))     # each one as it comes: the whole takes long
    return {test: records[test] for test in digests}


def _digest(*paths) -> str:
    return sha256(b"\0".join(path.read_bytes() for path in paths)).hexdigest()[:16]
