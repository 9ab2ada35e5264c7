"""What is kept on disk: believed only as it was written, within its room, whoever else writes at the same time."""

import os
from multiprocessing import get_context
from pathlib import Path

import pytest

from partgen.kept import FOLDER, Store, code, key_of, store

KEY = key_of("a task", 1.5)


@pytest.fixture
def kept(tmp_path):
    return Store(tmp_path / "deep")


def answered(kept, made=b"made"):
    return kept.answer("kind", KEY, lambda: made, bytes, bytes)


def test_an_answer_is_made_once_and_counted(kept):
    assert answered(kept) == answered(Store(kept.folder), b"another") == b"made"
    again = Store(kept.folder)
    assert answered(again) == answered(kept) == b"made"
    assert (kept.made, kept.reused, again.made, again.reused) == ({"kind": 1}, {}, {}, {"kind": 1})
    assert kept.contents() == {"kind": (1, 64 + 1 + 4)}
    assert len(list(kept.folder.rglob("*"))) == 2, "and nothing half written beside it"


DAMAGE = {
    "empty": lambda raw: b"",
    "cut short": lambda raw: raw[:-1],
    "a bit turned over": lambda raw: raw[:-1] + bytes([raw[-1] ^ 1]),
    "without its digest": lambda raw: raw.partition(b"\n")[2],
    "another's digest": lambda raw: b"0" * 64 + raw[64:],
    "nothing like it": lambda raw: b"\x00\xff" * 400,
}


@pytest.mark.parametrize("kind", DAMAGE)
def test_what_is_damaged_counts_as_none_and_is_replaced(kind, kept):
    answered(kept)
    [(place, _)] = kept.files()
    whole = place.read_bytes()
    place.write_bytes(DAMAGE[kind](whole))
    assert kept.recall("kind", KEY) is None
    assert answered(kept) == b"made" and place.read_bytes() == whole


OTHER_THINGS = {
    "pipe": lambda place, theirs: os.mkfifo(place),
    "link": lambda place, theirs: place.symlink_to(theirs),
    "link to nothing": lambda place, theirs: place.symlink_to("nothing"),
}


@pytest.mark.parametrize("kind", OTHER_THINGS)
def test_what_is_no_ordinary_file_counts_as_none_and_is_replaced(kind, kept, tmp_path):
    """Nothing waits for a pipe, and what a link points at, here a sound answer elsewhere, is neither believed nor
    touched."""
    answered(kept)
    [(place, _)] = kept.files()
    theirs = place.rename(tmp_path / "theirs")
    whole = theirs.read_bytes()
    OTHER_THINGS[kind](place, theirs)
    assert kept.recall("kind", KEY) is None and len(list(kept.files())) == 1
    assert answered(kept, b"new!") == b"new!" and kept.recall("kind", KEY) == b"new!"
    assert not place.is_symlink() and place.is_file() and theirs.read_bytes() == whole
    assert not (place.parent / "nothing").exists()


def test_another_place_s_answer_is_not_believed(kept):
    answered(kept)
    [(place, _)] = kept.files()
    kept.keep("other", KEY, b"theirs")
    place.write_bytes((kept.folder / "other" / place.name).read_bytes())
    assert kept.recall("kind", KEY) is None and kept.recall("other", KEY) == b"theirs"


def test_what_cannot_be_read_is_made_anew(kept):
    def refuse(body):
        if body == b"made":
            raise ValueError(body)
        return body
    answered(kept)
    assert kept.answer("kind", KEY, lambda: b"new", bytes, refuse) == b"new"
    assert kept.recall("kind", KEY) == b"new"


def test_what_is_signed_but_of_another_kind_is_not_found(kept):
    """A build that is kept so is built anew; found as what it is it counts as reused."""
    again = Store(kept.folder)
    assert kept.find("kind", (1,), int) is None
    assert kept.data("kind", (1,), lambda: 7, int) == again.find("kind", (1,), int) == 7
    assert again.find("kind", (1,), str) is None and again.reused == {"kind": 1}


def test_what_was_not_asked_for_longest_makes_room(kept):
    keys = [key_of(number) for number in range(4)]
    for age, key in enumerate(keys):
        kept.keep("kind", key, b"x" * 935)      # a thousand bytes with its digest
        os.utime(kept.folder / "kind" / f"{key}.kept", (1e9 + age, 1e9 + age))
    assert kept.recall("kind", keys[0]), "which is asked for now"
    assert kept.tidy(room=2000) == 2
    assert [kept.recall("kind", key) is not None for key in keys] == [True, False, False, True]


@pytest.mark.parametrize("place", ["", "file"])
def test_where_nothing_can_be_written_nothing_is_kept(place, tmp_path, monkeypatch):
    (tmp_path / "file").write_text("in the way")
    monkeypatch.setenv(FOLDER, place and str(tmp_path / place))
    assert answered(store()) == b"made" and store().recall("kind", KEY) is None
    assert store().contents() == {} and store().tidy() == 0


def _many(folder):
    kept = Store(Path(folder))
    return all(kept.answer("kind", key_of(number % 7), lambda number=number: bytes([number % 7]) * 50_000, bytes, bytes)
               == bytes([number % 7]) * 50_000 for number in range(140))


def test_two_processes_at_once_read_and_write_whole_answers(kept):
    with get_context("spawn").Pool(2) as pool:
        assert pool.map(_many, [str(kept.folder)] * 2) == [True, True]
    assert kept.contents()["kind"][0] == 7


def test_a_key_tells_all_things_apart():
    things = [(), (1,), (1.0,), ("1",), (1, 2), ("1\n2",), (0.1 + 0.2,), (0.3,)]
    assert len({key_of(*one) for one in things}) == len(things)
    assert code("packing") != code("parts") != code()
