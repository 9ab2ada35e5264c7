"""Files and folders are written whole or not at all, and keep what the user gave them: mode, links, line ends."""

import errno
import os
import stat
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from time import sleep

import pytest
from conftest import bare

from partgen.describe.edits import Edit, write_back
from partgen.errors import OutputError
from partgen.export import manifest as manifests
from partgen.files import edit, put, replaced, written

WAGON = "modules = ['box']"


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def left(folder: Path) -> list[str]:
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*"))


def full(*given, **named):
    raise OSError(errno.ENOSPC, "No space left on device")


def test_a_file_is_written_with_its_folder_and_the_mode_that_files_have(tmp_path):
    put(tmp_path / "a" / "b.txt", b"one")
    (tmp_path / "plain").write_bytes(b"")
    assert (tmp_path / "a" / "b.txt").read_bytes() == b"one"
    assert mode(tmp_path / "a" / "b.txt") == mode(tmp_path / "plain")
    assert left(tmp_path) == ["a", "a/b.txt", "plain"]


@pytest.mark.parametrize("bits", [0o600, 0o640, 0o755])
def test_a_file_keeps_its_mode(tmp_path, bits):
    file = tmp_path / "line.toml"
    file.write_text("old")
    file.chmod(bits)
    put(file, b"new")
    assert file.read_text() == "new" and mode(file) == bits


def test_a_link_stays_one_and_its_target_is_written(tmp_path):
    (tmp_path / "kept").mkdir()
    (tmp_path / "kept" / "real.toml").write_text("old")
    link, dangling = tmp_path / "line.toml", tmp_path / "new.toml"
    link.symlink_to("kept/real.toml")
    dangling.symlink_to("kept/later.toml")
    put(link, b"new")
    put(dangling, b"later")
    assert link.is_symlink() and (tmp_path / "kept" / "real.toml").read_text() == "new"
    assert dangling.is_symlink() and (tmp_path / "kept" / "later.toml").read_text() == "later"
    assert left(tmp_path) == ["kept", "kept/later.toml", "kept/real.toml", "line.toml", "new.toml"]


@pytest.mark.parametrize("what", ["replace", "write_bytes"])
def test_a_full_disk_leaves_the_old_file(tmp_path, monkeypatch, what):
    file = tmp_path / "line.toml"
    file.write_text("old")
    monkeypatch.setattr(Path, what, full)
    with pytest.raises(OutputError, match=r"line.toml cannot be written \(No space left .*\): stand on your head"):
        put(file, b"new", "stand on your head")
    monkeypatch.undo()
    assert file.read_text() == "old" and left(tmp_path) == ["line.toml"]


def test_an_interrupt_leaves_the_old_file(tmp_path):
    file = tmp_path / "line.toml"
    file.write_text("old")
    with pytest.raises(KeyboardInterrupt):
        with written(file) as fresh:
            fresh.write_text("half")
            raise KeyboardInterrupt
    assert file.read_text() == "old" and left(tmp_path) == ["line.toml"]


def test_a_folder_or_a_device_is_no_place_for_a_file(tmp_path):
    (tmp_path / "folder").mkdir()
    os.mkfifo(tmp_path / "pipe")
    for name in ("folder", "pipe"):
        with pytest.raises(OutputError, match=f"{name} cannot be written .it is no ordinary file.: name another place"):
            put(tmp_path / name, b"x")
    assert left(tmp_path) == ["folder", "pipe"] and stat.S_ISFIFO((tmp_path / "pipe").stat().st_mode)


@pytest.mark.parametrize("before", [
    b"a = 1\nb = 2\n", b"a = 1\r\nb = 2\r\n", b"\xef\xbb\xbfa = 1\r\nb = 2", b"\xef\xbb\xbfa = 1\n",
    b"a = 1\r\nb = 2\n", b""])
def test_line_ends_and_byte_order_mark_stay(tmp_path, before):
    file = tmp_path / "line.toml"
    file.write_bytes(before)
    edit(file, lambda text: text.replace("a = 1", "a = 'ä'"))
    assert file.read_bytes() == before.replace(b"a = 1", "a = 'ä'".encode())


@pytest.mark.parametrize(("mark", "end"), [(b"", b"\n"), (b"\xef\xbb\xbf", b"\r\n")])
def test_a_value_written_back_changes_nothing_else(tmp_path, mark, end):
    """One value is changed and one added, in a file of another system with a byte-order mark, reached by a link."""
    file, link = tmp_path / "line.toml", tmp_path / "link.toml"
    source = bare(wagon=WAGON).replace("wheelbase = 64", "wheelbase = 64   # grün")
    file.write_bytes(mark + source.encode().replace(b"\n", end))
    file.chmod(0o640)
    link.symlink_to(file)
    write_back(link, [Edit(("wagon", 0, "wheelbase"), 71.5), Edit(("wagon", 0, "width"), 62.0)])
    wanted = source.replace("wheelbase = 64 ", "wheelbase = 71.5 ").rstrip("\n")
    found = file.read_bytes()
    assert found.startswith(mark) and b"\r" not in found.replace(b"\r\n", b"") and mode(file) == 0o640
    text = found.removeprefix(mark).decode().replace("\r\n", "\n")
    assert text.replace("width = 62.0\n", "").rstrip("\n") == wanted and text.count("width = 62.0\n") == 1
    assert found.count(b"\n") == found.count(end)


def test_a_folder_keeps_its_mode_and_its_link(tmp_path):
    (tmp_path / "real").mkdir(mode=0o750)
    (tmp_path / "out").symlink_to("real")
    with replaced(tmp_path / "out") as fresh:
        (fresh / "new").write_text("new")
    assert (tmp_path / "out").is_symlink() and mode(tmp_path / "real") == 0o750
    assert left(tmp_path) == ["out", "real", "real/new"]


@pytest.mark.parametrize("failing", [1, 2])
def test_a_folder_that_cannot_be_moved_leaves_the_old_one(tmp_path, monkeypatch, failing):
    """The old folder cannot step aside, or the new one cannot take its place."""
    target, calls, rename = tmp_path / "line", [], Path.rename
    target.mkdir()
    (target / "old").write_text("old")

    def refused(self, place):
        calls.append(place)
        return full() if len(calls) == failing else rename(self, place)

    monkeypatch.setattr(Path, "rename", refused)
    with pytest.raises(OutputError, match="line cannot be written .*what was there is untouched"):
        with replaced(target) as fresh:
            (fresh / "new").write_text("new")
    assert left(tmp_path) == ["line", "line/old"]


def test_a_place_below_a_file_is_refused_with_a_cure(tmp_path):
    (tmp_path / "file").write_text("x")
    with pytest.raises(OutputError, match="file is a file: name a folder with -o"), replaced(tmp_path / "file"):
        pass
    with pytest.raises(OutputError, match="cannot be written"):
        put(tmp_path / "file" / "below", b"x")


# ---- what the user put into an output folder


def before(folder: Path) -> Path:
    """An output folder: two files of ours, one in a folder, and what a user put beside and below."""
    for name in ("ours.stl", "parts/ours.stl", "mine.gcode", "parts/mine.gcode", "notes/deep/mine.txt"):
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(name)
    (folder / "mine.gcode").chmod(0o640)
    (folder / "empty").mkdir()
    (folder / "link").symlink_to("parts")
    return folder


OWN = ("ours.stl", "parts/ours.stl", "gone/ours.stl")


@pytest.mark.parametrize("links", [True, False], ids=["linked", "copied"])
def test_what_the_user_put_there_stays(tmp_path, monkeypatch, links):
    """Where the file system has no hard links, bytes are copied."""
    target = before(tmp_path / "line")
    if not links:
        monkeypatch.setattr(os, "link", full)
    with replaced(target, OWN) as fresh:
        (fresh / "plates").mkdir()
        (fresh / "plates" / "new.3mf").write_text("new")
    assert left(target) == ["empty", "link", "mine.gcode", "notes", "notes/deep", "notes/deep/mine.txt", "parts",
                            "parts/mine.gcode", "plates", "plates/new.3mf"]
    assert (target / "parts" / "mine.gcode").read_text() == "parts/mine.gcode" and (target / "link").is_symlink()
    assert mode(target / "mine.gcode") == 0o640 and (target / "mine.gcode").stat().st_nlink == 1
    assert left(tmp_path)[0] == "line" and len(list(tmp_path.iterdir())) == 1


@pytest.mark.skipif(os.name == "nt", reason="folders cannot be locked here")
def test_two_that_write_one_folder_take_turns(tmp_path):
    """Each sees all that the other left, and what gives way to it is asked when its turn has come."""
    target, turns = before(tmp_path / "line"), []

    def own(name):
        turns.append(name)
        sleep(0.05)
        turns.append(name)
        return OWN if len(turns) == 2 else [*OWN, "new"]

    def write(name):
        with replaced(target, lambda: own(name)) as fresh:
            (fresh / "new").write_text(name)

    with ThreadPoolExecutor() as pool:
        list(pool.map(write, "abcd"))
    assert turns[::2] == turns[1::2] and sorted(turns[::2]) == [*"abcd"]
    assert (target / "new").read_text() == turns[-1] and (target / "mine.gcode").exists()
    assert list(tmp_path.iterdir()) == [target]


def test_a_folder_of_ours_alone_goes_with_its_files(tmp_path):
    target = tmp_path / "line"
    (target / "parts").mkdir(parents=True)
    with replaced(target, ("parts/ours.stl",)) as fresh:
        (fresh / "new").write_text("new")
    assert left(target) == ["new"]


def test_a_file_of_the_user_s_is_never_written_over(tmp_path):
    target = before(tmp_path / "line")
    was = left(tmp_path)
    with pytest.raises(OutputError, match="parts/mine.gcode is of no earlier build: move it away"):
        with replaced(target, OWN) as fresh:
            (fresh / "parts").mkdir()
            (fresh / "parts" / "mine.gcode").write_text("new")
    assert left(tmp_path) == was and (target / "parts" / "mine.gcode").read_text() == "parts/mine.gcode"


@pytest.mark.parametrize("failing", [1, 2])
def test_a_failing_move_leaves_all_as_it_was(tmp_path, monkeypatch, failing):
    target, calls, rename = before(tmp_path / "line"), [], Path.rename
    was = left(tmp_path)
    monkeypatch.setattr(Path, "rename", lambda self, place: (
        full() if calls.append(place) or len(calls) == failing else rename(self, place)))
    with pytest.raises(OutputError, match="untouched"):
        with replaced(target, OWN) as fresh:
            (fresh / "new").write_text("new")
    assert left(tmp_path) == was and (target / "mine.gcode").read_text() == "mine.gcode"


def test_an_earlier_manifest_tells_what_is_ours(tmp_path):
    assert manifests.earlier(tmp_path) == {} and manifests.written({}) == frozenset()
    for text in ("", "[1]", "{}", '{"program": "another 3"}', '{"program": 3}', '{"program": "partgen 0.1"}',
                 '{"program": "partgen 0.1", "files": [{}]}'):
        (tmp_path / "manifest.json").write_text(text)
        assert manifests.earlier(tmp_path) == {}
    (tmp_path / "manifest.json").write_text('{"program": "partgen 0.1", "files": [{"path": "parts/a.stl"}]}')
    assert manifests.written(manifests.earlier(tmp_path)) == {"manifest.json", "parts/a.stl"}
