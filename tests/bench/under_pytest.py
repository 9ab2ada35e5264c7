"""The half of a mutation run that speaks to pytest, on package and tests below the present folder.

    python under_pytest.py record FILE OUT     runs a test file under coverage and writes its `Record`
    python under_pytest.py first LIST          runs a JSON list [[node id, time limit in s], ...] in its order
                                               until one fails, and prints that one
    python under_pytest.py all LIST            the same to the end

Seconds are of processor time: others may use the machine meanwhile.
"""

import os
import signal
import sys
import warnings
from pathlib import Path

import msgspec
import pytest

FAILED = "failed here: "
COLLECTING = 60     # s; what is imported at the top of files has no business to take longer


class Record(msgspec.Struct):
    """One test file: the seconds of its tests, those that fail without a fault, the lines that each one runs.

    `digest` tells package and test file that it holds for.
    """

    digest: str = ""
    seconds: dict[str, float] = {}
    failed: set[str] = set()
    lines: dict[str, dict[str, set[int]]] = {}      # by file below partgen/, then by test


class First:
    """A pytest plugin with a profile of hypothesis for which the first failure will do, not the smallest."""

    @pytest.hookimpl(tryfirst=True)
    def pytest_configure(self):
        from hypothesis import Phase, settings  # not before pytest, which warns then
        settings.register_profile("first", derandomize=True, deadline=None, report_multiple_bugs=False,
                                  phases=(Phase.explicit, Phase.generate))


class Recorder:
    """A pytest plugin that notes lines and times test by test."""

    def __init__(self):
        os.environ["COVERAGE_CORE"] = "ctrace"      # the one that tells tests apart
        from coverage import Coverage
        self.record = Record()
        self.coverage = Coverage(data_file=None, config_file=False, include=["partgen/*"])

    def pytest_sessionstart(self):
        self.coverage.start()

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item):
        start = sum(os.times()[:4])                 # its child processes too
        self.coverage.switch_context(item.nodeid)
        done = yield
        self.coverage.switch_context("")
        self.record.seconds[item.nodeid] = round(sum(os.times()[:4]) - start, 2)
        return done

    def pytest_runtest_logreport(self, report):
        if not report.passed:                       # skipped ones show nothing either
            self.record.failed.add(report.nodeid)

    def pytest_sessionfinish(self):
        self.coverage.stop()
        with warnings.catch_warnings(action="ignore"):      # a file may run nothing of the package
            data = self.coverage.get_data()
        for file in data.measured_files():
            short = Path(file).relative_to(Path("partgen").resolve()).as_posix()
            tests = self.record.lines.setdefault(short, {})
            for line, names in data.contexts_by_lineno(file).items():
                for name in filter(None, names):
                    tests.setdefault(name, set()).add(line)


class Selector:
    """A pytest plugin that runs the tests of a list in its order, each within its time."""

    def __init__(self, limits: dict[str, float]):
        self.limits, self.failed = limits, {}

    def pytest_sessionstart(self):
        _limit(COLLECTING)

    def pytest_collection_modifyitems(self, items):
        found = {item.nodeid: item for item in items}
        items[:] = [found[name] for name in self.limits if name in found]

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item):
        _limit(self.limits[item.nodeid])
        done = yield
        _limit(0)
        return done

    def pytest_runtest_logreport(self, report):
        if report.failed:
            self.failed[report.nodeid] = True


def _limit(seconds: float) -> None:
    """Let the system end this process after so much processor time, even inside a library; never if 0."""
    signal.setitimer(signal.ITIMER_PROF, seconds)


def main(job: str, file: str, out: str = "") -> int:
    words = ["-n", "0", "-p", "no:cacheprovider", "--hypothesis-profile=first", "--tb=line"]
    if job == "record":
        plugin = Recorder()
        code = pytest.main([*words, file], plugins=[First(), plugin])
        Path(out).write_bytes(msgspec.json.encode(plugin.record))
        return code
    plugin = Selector(dict(msgspec.json.decode(Path(file).read_bytes())))
    files = dict.fromkeys(name.split("::")[0] for name in plugin.limits)
    code = pytest.main([*words, *["-x"][job == "all":], *files], plugins=[First(), plugin])
    print("", *(f"{FAILED}{name}" for name in plugin.failed), sep="\n")
    return code


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
