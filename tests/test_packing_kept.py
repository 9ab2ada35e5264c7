"""Answers kept on disk: what is wrong is not believed, whoever wrote it, and is searched for again.

Whether an arrangement is sound is held to the plain intervals of `arrangements.py`.
"""

import json
import re
from hashlib import sha256

import pytest
from arranged import tasks
from arrangements import NARROW, SMALL, faults
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from partgen.kept import FOLDER
from partgen.packing import pack as packing
from partgen.packing.box import NoRoom, Packed
from partgen.packing.pack import keep, pack, recall
from partgen.packing.solver import search
from partgen.packing.sound import sound

TASK = SMALL["three"]


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A folder of its own for what is kept, and nothing remembered."""
    monkeypatch.setenv(FOLDER, str(tmp_path / "deep"))
    packing._answered.cache_clear()
    return tmp_path / "deep" / "arrangements"


def asked(monkeypatch):
    """Return the tasks that the solver is asked from now on."""
    tasks = []
    monkeypatch.setattr("partgen.packing.solver.search", lambda task: tasks.append(task) or search(task))
    return tasks


def test_an_answer_is_kept_and_read_back(folder):
    found = search(TASK)
    assert recall(TASK) is None
    keep(TASK, found)
    keep(NARROW, NoRoom(proven=True))
    assert recall(TASK) == found and recall(NARROW) == NoRoom(proven=True)
    assert recall(replace(TASK, effort=0.9)) is None and recall(replace(TASK, wires=())) is None
    assert len(list(folder.iterdir())) == 2, "and nothing half written beside them"


def test_the_solver_is_asked_once(folder, monkeypatch):
    tasks, found = asked(monkeypatch), pack(TASK)
    packing._answered.cache_clear()
    assert pack(TASK) == found and len(tasks) == 1


def changed_number(text):
    head, body = text.split("\n")
    record = json.loads(body)
    record["spots"][0]["x"] += 3.0
    return f"{head}\n{json.dumps(record)}"


DAMAGE = {
    "empty": lambda text: "",
    "cut short": lambda text: text[:-9],
    "without its digest": lambda text: text.split("\n")[1],
    "a changed number": changed_number,
    "a NaN": lambda text: re.sub('"length":[^,]+', '"length":NaN', text),
    "another shape": lambda text: text.split("\n")[0] + "\n[]",
    "no text at all": lambda text: "\x00\xff" * 40,
}


@pytest.mark.parametrize("kind", DAMAGE)
def test_a_damaged_answer_counts_as_none_and_is_replaced(kind, folder, monkeypatch):
    found = pack(TASK)
    file, = folder.iterdir()
    whole = file.read_text()
    file.write_text(DAMAGE[kind](whole), encoding="latin-1")
    assert file.read_text(encoding="latin-1") != whole and recall(TASK) is None
    packing._answered.cache_clear()
    tasks = asked(monkeypatch)
    assert pack(TASK) == found and len(tasks) == 1
    assert file.read_text() == whole


def poisoned(file, change):
    """Change an answer on disk and sign it as the program does."""
    record = json.loads(file.read_text().split("\n")[1])
    change(record)
    body = json.dumps(record)
    digest = sha256(f"arrangements/{file.name}{body}".encode()).hexdigest()
    file.write_text(f"{digest}\n{body}")


POISON = {
    "a box moved": lambda record: record["spots"][1].update(x=record["spots"][1]["x"] + 2.0),
    "a box off the grid": lambda record: record["spots"][1].update(x=record["spots"][1]["x"] + 0.013),
    "a box lifted": lambda record: record["spots"][0].update(z=4.0),
    "a box on itself": lambda record: record["spots"][0].update(on=0),
    "a box on none of them": lambda record: record["spots"][0].update(on=7),
    "a turn that there is not": lambda record: record["spots"][0]["orientation"].update(room=[0.0] * 6),
    "a box missing": lambda record: record["spots"].pop(),
    "an infinite size": lambda record: record.update(length=1e400),
    "another width": lambda record: record.update(width=48.0),
    "another height": lambda record: record.update(height=60.0),
    "a better length than it has": lambda record: record["aims"][0].__setitem__(1, 50.0),
    "a bound beyond what is reached": lambda record: record["aims"][3].__setitem__(2, 500.0),
    "an aim missing": lambda record: record["aims"].pop(),
    "words for numbers": lambda record: record.update(length="long"),
}


@pytest.mark.parametrize("kind", POISON)
def test_a_poisoned_answer_counts_as_none_and_is_replaced(kind, folder):
    found = pack(TASK)
    file, = folder.iterdir()
    poisoned(file, lambda record: None)
    assert recall(TASK) == found, "signed as the program does, it is believed"
    poisoned(file, POISON[kind])
    assert recall(TASK) is None
    packing._answered.cache_clear()
    assert pack(TASK) == found and recall(TASK) == found


def test_another_tasks_answer_is_not_believed(folder):
    """Copied onto this task's file name, as a restored backup might be."""
    pack(TASK)
    mine, = folder.iterdir()
    other = replace(TASK, wires=((0, 2),))
    pack(other)
    theirs, = set(folder.iterdir()) - {mine}
    mine.write_bytes(theirs.read_bytes())
    assert recall(TASK) is None and recall(other) is not None


def test_where_nothing_can_be_written_nothing_is_kept(tmp_path, monkeypatch):
    found = search(TASK)
    monkeypatch.setenv(FOLDER, "")
    keep(TASK, found)
    assert recall(TASK) is None
    (tmp_path / "file").write_text("in the way")
    monkeypatch.setenv(FOLDER, str(tmp_path / "file"))
    keep(TASK, found)
    assert recall(TASK) is None


@settings(max_examples=25)
@given(tasks(), st.data())
def test_what_is_sound_is_what_plain_intervals_say(task, data):
    """Every arrangement found is; moved, turned or stacked at random it is only where the intervals find no fault."""
    found = pack(task)
    assume(isinstance(found, Packed))
    assert sound(task, found)
    place = data.draw(st.integers(0, len(task.boxes) - 1))
    spot, box = found.spots[place], task.boxes[place]
    for _ in range(8):
        step = st.sampled_from([-9.0, -1.5, -0.4, 0.4, 0.7, 2.0, 13.0])
        other = data.draw(st.sampled_from([
            replace(spot, x=spot.x + data.draw(step)), replace(spot, y=spot.y + data.draw(step)),
            replace(spot, z=spot.z + data.draw(step)), replace(spot, orientation=data.draw(
                st.sampled_from(box.orientations))), replace(spot, on=data.draw(st.sampled_from([None, 0, 1])))]))
        spots = (*found.spots[:place], other, *found.spots[place + 1:])
        moved = replace(found, spots=spots, aims=tuple((name, value, min(value, bound)) for name, value, bound
                                                       in found.aims))
        if list(faults(task, moved)):
            assert not sound(task, moved)


@settings(max_examples=25)
@given(tasks(), st.sampled_from([-3.0, -0.2, 0.2, 3.0]), st.sampled_from(["length", "width", "height"]))
def test_a_size_that_is_not_what_its_boxes_take_is_not_sound(task, more, which):
    found = pack(task)
    assume(isinstance(found, Packed))
    assert not sound(task, replace(found, **{which: getattr(found, which) + more}))
