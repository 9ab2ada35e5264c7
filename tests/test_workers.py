"""Processes that help: they end with the one they work for, say why they cannot help, and give what it would make."""

import os
import pickle
import signal
import subprocess
import sys
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from multiprocessing import get_all_start_methods, get_context
from pathlib import Path

import pytest
from cadquery import Workplane
from conftest import ROOT, bare

from partgen import parts
from partgen.describe.load import loads
from partgen.errors import KernelError, WorkersLost
from partgen.kept import Store
from partgen.pipeline import forms, hands, silent
from partgen.pipeline.many import build_all
from partgen.plan.train import resolve

GUARDED = """
from os import getpid
from time import sleep
from partgen.interrupts import workers

def main():
    with workers(2) as pool:
        print(pool.submit(getpid).result(), flush=True)
        sleep(60)

if __name__ == "__main__":
    main()
"""


def started(tmp_path, text):
    file = tmp_path / "script.py"
    file.write_text(text)
    return subprocess.Popen([sys.executable, str(file)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
                            env=os.environ | {"PYTHONPATH": str(ROOT)})


def test_a_script_without_a_main_guard_is_told_so_once(tmp_path):
    with started(tmp_path, GUARDED.replace('if __name__ == "__main__":\n    ', "")) as script:
        out, said = script.communicate(timeout=60)
    assert script.returncode and not out
    assert 'WorkersLost: a process that helped has ended by itself' in said
    assert 'under `if __name__ == "__main__":`' in said.splitlines()[-1]
    assert said.count("Traceback") < 8, "and no process is started again and again"


@pytest.mark.parametrize("by", [signal.SIGKILL, signal.SIGTERM, signal.SIGINT])
def test_no_worker_outlives_its_parent(tmp_path, by):
    with started(tmp_path, GUARDED) as script:
        assert int(script.stdout.readline()) != script.pid
        script.send_signal(by)
        script.communicate(timeout=20)      # until the last process that could write there has ended
        assert script.returncode


def test_a_fault_of_the_kernel_is_sent_whole():
    fault = KernelError("lid", "rim", "9 mm")
    sent = pickle.loads(pickle.dumps(fault))
    assert (sent.part, sent.feature, sent.size, str(sent)) == ("lid", "rim", "9 mm", str(fault))


def test_an_executor_makes_what_is_made_alone(monkeypatch):
    """Of blocks, in threads: any executor will do; what is kept is the same, and what it made is not made again."""
    monkeypatch.setattr(parts, "build", lambda part, plan: Workplane().box(*plan.size).val())
    train = resolve(loads(bare(wagon='cups = ["tea"]')))
    items = list({(item.part, item.plan): item for item in train.wagons[0].items}.values())
    one, other = Store(), Store()
    with ThreadPoolExecutor(2) as threads:
        forms.shaped_by(threads, items, train.description.printer, one, silent)
    assert one.made["parts"] == len(items) and not one.reused
    for item in items:
        assert forms.form_of(item, other) == forms.form_of(item, one)
    assert one.made["parts"] == len(items) and other.made["parts"] == len(items)


@pytest.mark.parametrize(("cores", "free", "new", "helped"), [
    (1, 99, 99, 0), (2, 1, 99, 0), (2, 99, 99, 2), (8, 3, 99, 3), (8, 99, 2, 1)])
def test_as_many_help_as_are_worth_it(cores, free, new, helped, monkeypatch):
    from contextlib import nullcontext
    asked = []
    monkeypatch.setattr(hands, "workers", lambda count: asked.append(count) or nullcontext())
    monkeypatch.setattr(hands, "memory", lambda: free * hands.ROOM)
    monkeypatch.setattr(hands, "many", lambda items, kept: new >= hands.WORTH)
    monkeypatch.setenv(hands.CORES, str(cores))
    with hands.helped(["a part"], Store(), None):
        assert asked == [helped][:helped]


@pytest.mark.skipif("fork" not in get_all_start_methods(), reason="nothing is forked here")
def test_forked_processes_are_refused_before_they_can_hang(tmp_path):
    forked, spawned = (ProcessPoolExecutor(1, get_context(way)) for way in ("fork", "spawn"))
    with pytest.raises(WorkersLost, match=r'are forked, .* hand in ProcessPoolExecutor.mp_context=.*"spawn"'):
        build_all([Path("none.toml")], tmp_path, executor=forked)
    with pytest.raises(WorkersLost), hands.helped([], Store(), forked):
        pass
    for sound in (spawned, ThreadPoolExecutor(1)):
        with hands.helped([], Store(), sound) as helping:
            assert helping is sound
