"""Whose folder it is: draw, watch and build ask the same before they replace another file's train of the same title."""

import json
import os
from threading import Thread

import pytest
from conftest import bare
from msgspec.structs import replace

from partgen import pipeline
from partgen.cli import watching
from partgen.describe.load import digest, load, loads
from partgen.errors import OutputError
from partgen.files import replaced
from partgen.pipeline import drawing_files
from partgen.pipeline.places import Place, ensure_place, seen_from

BUILT = {"program": "partgen 0", "title": "Test line", "files": [{"path": "lid.stl", "bytes": 4}]}


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A folder with the build of another file's train, and somebody's note in it; a sheet is drawn in no time."""
    def draw_all(train, markers, fresh):
        (fresh / "track.svg").write_text(train.description.title)
        return ({"path": "track.svg", "shows": "the train"},)

    monkeypatch.setattr(drawing_files, "draw_all", draw_all)
    (tmp_path / "line.toml").write_text(bare(), encoding="utf-8")
    folder = tmp_path / "test-line"
    folder.mkdir()
    (folder / "manifest.json").write_text(json.dumps({**BUILT, "description_file": "other.toml",
                                                      "description_sha256": "0"}))
    (folder / "lid.stl").write_text("lid")
    (folder / "note.txt").write_text("mine")
    return folder


def here(folder):
    return {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}


OTHERS = {"manifest.json", "lid.stl", "note.txt"}
OURS = {"drawings/track.svg", "drawings/manifest.json", "note.txt"}


@pytest.mark.parametrize("words", [("draw",), ("watch", "--no-build")], ids=" ".join)
def test_draw_and_watch_replace_another_file_s_train_only_where_it_is_wished(run, folder, words, monkeypatch):
    monkeypatch.setattr(watching, "saves", lambda file: [None])     # watch looks once
    words = *words, folder.parent / "line.toml", "-o", folder.parent
    assert "the train of other.toml" in (said := run(*words).stderr) and "say --replace" in said
    assert here(folder) == OTHERS
    assert run(*words, "--replace").exit_code == 0 and here(folder) == OURS, "nothing of two trains side by side"
    assert run(*words).exit_code == 0, "and from then on it is this train's"


def test_the_same_train_in_another_file_is_drawn_beside_its_build(folder):
    (folder / "manifest.json").write_text(json.dumps(
        {**BUILT, "description_file": "other.toml", "description_sha256": digest(loads(bare()))}))
    pipeline.draw(folder.parent / "line.toml", folder.parent)
    assert here(folder) == OTHERS | OURS


@pytest.mark.skipif(os.name == "nt", reason="folders cannot be locked here")
def test_a_build_waits_until_drawings_are_whole(folder, monkeypatch):
    """And brings them across, and nothing that was half drawn."""
    def build():
        with replaced(folder, ["lid.stl"]) as fresh:
            (fresh / "lid.stl").write_text("new")

    def draw_all(train, markers, fresh):
        building.start()
        building.join(0.2)
        assert building.is_alive() and (folder / "lid.stl").read_text() == "lid"
        (fresh / "track.svg").write_text("")
        return ({"path": "track.svg", "shows": "the train"},)

    building = Thread(target=build)
    monkeypatch.setattr(drawing_files, "draw_all", draw_all)
    (folder / "manifest.json").unlink()
    pipeline.draw(folder.parent / "line.toml", folder.parent)
    building.join()
    assert here(folder) == OURS | {"lid.stl"} and (folder / "lid.stl").read_text() == "new"
    assert not list(folder.parent.rglob(".partgen-*"))


def test_a_build_asks_before_it_replaces_another_file_s_drawings(folder, monkeypatch):
    """And where it may, they go with it."""
    line, other = folder.parent / "line.toml", folder.parent / "other.toml"
    other.write_text(bare(wagon="length = 150"), encoding="utf-8")
    pipeline.draw(other, folder.parent)
    (folder / "manifest.json").unlink()
    monkeypatch.setattr(pipeline, "_built", lambda *given: pytest.fail("the work began"))
    with pytest.raises(OutputError, match="test-line/drawings holds the train of /.*/other.toml, which"):
        pipeline.build(line, folder.parent, anyway=True)
    assert Place(folder, loads(line.read_text()), line, True).giving_way() == {
        "drawings/track.svg", "drawings/manifest.json"}
    assert not Place(folder, loads(other.read_text()), other).giving_way()


def test_files_called_alike_in_two_folders_describe_two_trains(folder, tmp_path):
    """Folder and file moved together stay one train; a file that moved alone is told how to go on."""
    first, second = tmp_path / "anna" / "line.toml", tmp_path / "bert" / "line.toml"
    for file, length in ((first, 150), (second, 155)):
        file.parent.mkdir()
        file.write_text(bare(wagon=f"length = {length}"), encoding="utf-8")
    pipeline.draw(first, tmp_path / "anna")
    pipeline.draw(second, tmp_path / "bert")
    pipeline.draw(first, tmp_path / "out")
    with pytest.raises(OutputError, match="holds the train of /.*/anna/line.toml, .*--replace, also where it is one"):
        pipeline.draw(second, tmp_path / "out")
    first.write_text(bare(wagon="length = 152"), encoding="utf-8")
    pipeline.draw(first, tmp_path / "out")
    moved = (tmp_path / "anna").rename(tmp_path / "carla")
    (moved / "line.toml").write_text(bare(wagon="length = 153"), encoding="utf-8")
    pipeline.draw(moved / "line.toml", moved)
    with pytest.raises(OutputError, match="anna/line.toml"):
        pipeline.draw(moved / "line.toml", tmp_path / "out")


def test_whose_folder_it_is_is_asked_again_when_it_is_replaced(folder, tmp_path):
    """Two files' trains of one title, begun at once in a folder that nobody had: the later one is refused, the same
    file's built twice is not."""
    line, other = tmp_path / "line.toml", tmp_path / "other.toml"
    other.write_text(bare(wagon="length = 150"), encoding="utf-8")
    first, second, third = (ensure_place(load(file), file, tmp_path / "out", False) for file in (line, line, other))

    def put(place):
        with replaced(place.folder, place.giving_way) as fresh:
            (fresh / "lid.stl").write_text("lid")
            (fresh / "manifest.json").write_text(json.dumps(
                {**BUILT, "description_file": seen_from(place.folder, place.file),
                 "description_sha256": digest(place.description)}))

    put(first)
    (first.folder / "note.txt").write_text("mine")
    put(second)
    with pytest.raises(OutputError, match="holds the train of /.*/line.toml, which has the same title"):
        put(third)
    assert here(first.folder) == OTHERS, "whole, and the note as well"
    put(replace(third, replace_other=True))
    assert here(first.folder) == OTHERS
