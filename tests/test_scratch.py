"""What is not whole yet: gone after use, swept where its run is dead, left alone where it is at work."""

import json
import os
import signal
import subprocess
import sys
from pathlib import Path
from time import monotonic, sleep

import pytest
from conftest import ROOT, bare

from partgen import pipeline, scratch
from partgen.cli.shell import interrupts_to
from partgen.describe.load import digest, loads
from partgen.errors import OutputError
from partgen.files import ensure_replaceable, ensure_room, replaced
from partgen.interrupts import interrupts_held
from partgen.kept import Store

KILLED = """
import os, sys
from pathlib import Path
from partgen.files import replaced
with replaced(Path(sys.argv[1]), ("old",)) as fresh:
    (fresh / "new").write_text("half")
    if sys.argv[2] == "in the middle of the move":
        real = Path.rename
        Path.rename = lambda self, to: os.kill(os.getpid(), 9) if self == fresh else real(self, to)
    else:
        os.kill(os.getpid(), 9)
"""

needs_locks = pytest.mark.skipif(sys.platform == "win32", reason="folders cannot be locked here")


@pytest.fixture(autouse=True)
def unswept():
    """As in a process that has swept nothing yet."""
    scratch.sweep.cache_clear()


def started(code, *words, stdout=None, **world):
    return subprocess.Popen([sys.executable, "-c", code, *map(str, words)], text=True, stdout=stdout,
                            env=os.environ | {"PYTHONPATH": str(ROOT)} | world)


@needs_locks
@pytest.mark.parametrize("when", ["before the move", "in the middle of the move"])
def test_the_next_run_sweeps_what_a_killed_one_left_and_puts_back_what_it_moved(tmp_path, when):
    target = tmp_path / "line"
    target.mkdir()
    (target / "old").write_text("whole")
    assert started(KILLED, target, when).wait() == -signal.SIGKILL
    assert list(tmp_path.glob(".partgen-*/fresh/new")), "this time something is left"
    ensure_room(tmp_path)
    assert [str(path.relative_to(tmp_path)) for path in sorted(tmp_path.rglob("*"))] == ["line", "line/old"]
    assert (target / "old").read_text() == "whole"


@needs_locks
def test_what_a_living_run_is_at_work_on_stays(tmp_path):
    with scratch.scratch(tmp_path) as mine:
        (mine / "half").write_text("half")
        scratch.sweep.cache_clear()
        scratch.sweep(tmp_path)
        assert (mine / "half").exists()
        (tmp_path / ".partgen-dead" / "half").mkdir(parents=True)
        (tmp_path / "partgen-mine").mkdir()
        scratch.sweep.cache_clear()
        scratch.sweep(tmp_path)
        assert sorted(tmp_path.iterdir()) == [mine, tmp_path / "partgen-mine"]
    assert list(tmp_path.iterdir()) == [tmp_path / "partgen-mine"]


@needs_locks
def test_a_folder_swept_before_it_was_locked_is_made_again(tmp_path, monkeypatch):
    lock, given = scratch._lock, []

    def late(path, wait):
        given.append(path)
        if len(given) == 1:
            path.rmdir()        # as another run does between the two
        return lock(path, wait)

    monkeypatch.setattr(scratch, "_lock", late)
    with scratch.scratch(tmp_path) as mine:
        assert list(tmp_path.iterdir()) == [mine] == given[1:] != given[:1]


@needs_locks
def test_what_is_half_written_in_the_cache_goes_with_the_next_tidying(tmp_path):
    kept = Store(tmp_path)
    kept.keep("kind", "key", b"whole")
    (tmp_path / "kind" / ".partgen-dead.kept").write_text("half")
    with scratch.scratch_file(tmp_path / "kind", ".kept") as mine:
        scratch.sweep.cache_clear()
        kept.tidy()
        assert sorted((tmp_path / "kind").iterdir()) == [mine, tmp_path / "kind" / "key.kept"]
    assert list((tmp_path / "kind").iterdir()) == [tmp_path / "kind" / "key.kept"]


# ---- signals


@pytest.mark.parametrize(("by", "code"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)])
def test_a_command_that_is_stopped_says_so_by_the_shells_custom(run, monkeypatch, tmp_path, by, code):
    """128 and the signal's number, common practice of shells; the output stays as it was."""
    before = signal.getsignal(by)

    def stopped(*_given, **_named):
        with replaced(tmp_path / "line") as fresh:
            (fresh / "new").write_text("half")
            signal.raise_signal(by)

    monkeypatch.setattr(pipeline, "check", stopped)
    done = run("check", "any.toml")
    assert done.exit_code == code and done.stderr == "interrupted; nothing was left half written\n"
    assert not list(tmp_path.iterdir()) and signal.getsignal(by) == before


@pytest.mark.parametrize("by", [signal.SIGINT, signal.SIGTERM])
def test_a_signal_that_is_held_is_answered_afterwards(by):
    said = []
    with interrupts_to(lambda number, frame: said.append(number)):
        with interrupts_held():
            signal.raise_signal(by)
            assert not said
        assert said == [by]


DRAWING = """
from time import sleep
from partgen.report.pictures import drawing
from partgen.report.props import rounded_box
from partgen.report.scene import Prop, Scene
scene = Scene((Prop.of("body", rounded_box((9, 9, 9), 0.5), (1, 0, 0)),), size=(1600, 1200))
with drawing([scene]) as pending:
    print(pending.drawers[0].child.pid, flush=True)
    sleep(60)
"""


def lives(stat: Path) -> bool:
    """Does the process live that the system tells of at `stat`?"""
    try:
        return stat.read_text().rpartition(")")[2].split()[0] not in "ZX"
    except OSError:
        return False


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="no /proc tells here who lives")
def test_the_renderer_ends_with_the_process_that_asked(tmp_path):
    """Before it has drawn one picture; after one it would end because nobody hears of it. What it leaves is swept."""
    with started(DRAWING, stdout=subprocess.PIPE, TMPDIR=str(tmp_path)) as parent:
        child = Path("/proc") / parent.stdout.readline().strip() / "stat"
        assert lives(child)
        parent.kill()
    end = monotonic() + 60
    while lives(child):
        assert monotonic() < end
        sleep(0.05)
    assert list(tmp_path.rglob("*.scene")) and not list(tmp_path.rglob("*.png"))
    scratch.sweep(tmp_path)
    assert not list(tmp_path.iterdir())


# ---- places that cannot be


def test_a_place_is_tried_before_the_work_begins(tmp_path, monkeypatch):
    with pytest.raises(OutputError, match="cannot be written .File name too long.: name another folder with -o"):
        ensure_room(tmp_path / "deep" / ("x" * 256))
    with pytest.raises(OutputError, match=r"\d MB of room left, and 1000000000000.0 MB are to be"):
        ensure_room(tmp_path / "deep", 10**18)
    (tmp_path / "line" / "parts").mkdir(parents=True)
    real = os.access
    monkeypatch.setattr(os, "access", lambda path, how: not str(path).endswith("parts") and real(path, how))
    with pytest.raises(OutputError, match="line/parts is read-only"):
        ensure_replaceable(tmp_path / "line")
    monkeypatch.setattr(Path, "is_mount", lambda self: self.name == "line")
    with pytest.raises(OutputError, match="line is a disk of its own"):
        ensure_replaceable(tmp_path / "line")
    assert [path.name for path in tmp_path.rglob("*")] == ["line", "parts"]


class Begun(Exception):
    """The work has begun."""


@pytest.fixture
def building(monkeypatch, tmp_path):
    """Try to build a train into a folder that holds an earlier build; return what is said, nothing if work begins."""
    def begin(*_given, **_named):
        raise Begun
    monkeypatch.setattr(pipeline, "_built", begin)
    (tmp_path / "line.toml").write_text(bare())
    (tmp_path / "out" / "test-line").mkdir(parents=True)

    def build(replace_other=False, **before):
        told = {"program": "partgen 0", "title": "Test line", "files": [], **before}
        (tmp_path / "out" / "test-line" / "manifest.json").write_text(json.dumps(told))
        try:
            pipeline.build(tmp_path / "line.toml", tmp_path / "out", anyway=True, replace_other=replace_other)
        except Begun:
            return None
        except OutputError as error:
            return str(error)
    return build


@pytest.mark.parametrize(("file", "same", "wished", "goes"), [
    ("line.toml", False, False, True),      # the same train changed
    ("other.toml", True, False, True),      # the same train in another file
    ("other.toml", False, True, True),
    ("other.toml", False, False, False)])
def test_another_file_s_train_of_the_same_title_is_not_replaced_unasked(building, file, same, wished, goes):
    sha256 = digest(loads(bare())) if same else "0"
    said = building(wished, description_file=file, description_sha256=sha256)
    assert said is None if goes else "the train of other.toml" in said and "say --replace" in said


def test_a_build_looks_for_room_and_for_what_is_in_its_way_before_it_begins(building, tmp_path):
    assert "1000000000000.0 MB are to be written" in building(files=[{"path": "x", "bytes": 10**18}])
    assert "manifest.json is of no earlier build" in building(program="another")
    (tmp_path / "out" / "test-line" / "manifest.json").unlink()
    (tmp_path / "out" / "test-line").rmdir()
    (tmp_path / "out" / "test-line").write_text("mine")
    with pytest.raises(OutputError, match="test-line is a file"):
        pipeline.build(tmp_path / "line.toml", tmp_path / "out", anyway=True)
