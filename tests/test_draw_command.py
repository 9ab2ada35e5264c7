"""`partgen draw`: the same bytes again, only what is its own, nothing left where it fails."""

import json
import re
from pathlib import Path

from conftest import bare, described
from loops import SEEING
from test_drawings import texts_of

from partgen.pipeline import drawing_files
from partgen.plan.train import resolve
from partgen.report.sheets import drawings
from partgen.report.sheets.drafting import PAPERS

# ---- the command


def test_draw_writes_the_same_bytes_again_and_only_what_is_its_own(run, tmp_path):
    """A note beside the drawings stays, a sheet of a wagon that was called otherwise goes."""
    file, out = tmp_path / "line.toml", tmp_path / "out"
    file.write_text(bare(wagon="modules = ['box']"), encoding="utf-8")
    done = run("draw", file, "-o", out, "--json")
    assert done.exit_code == 0, done.output
    told = json.loads(done.stdout)
    folder = out / "test-line" / "drawings"
    assert Path(told["folder"]) == folder
    assert [one["path"] for one in told["files"]] == ["one.svg", "one-layout.svg", "track.svg", "drawings.pdf"]
    assert told["files"][0]["paper"] in PAPERS and re.fullmatch(r"\d+:\d+", told["files"][0]["scale"])
    first = {path.name: path.read_bytes() for path in folder.iterdir()}
    assert set(first) == {"manifest.json", *(one["path"] for one in told["files"])}
    assert first["drawings.pdf"].startswith(b"%PDF") and first["drawings.pdf"].count(b"/Type /Page ") == 3
    assert b"CreationDate" not in first["drawings.pdf"] and b"<dc:date>" not in first["one.svg"]

    (folder / "note.txt").write_text("ask about the wheels")
    file.write_text(bare(wagon="modules = ['box']").replace('name = "one"', 'name = "two"'), encoding="utf-8")
    again = run("draw", file, "-o", out)
    assert again.exit_code == 0 and f"{folder}/two.svg  two: from the side" in again.stdout
    second = {path.name: path.read_bytes() for path in folder.iterdir()}
    assert set(second) == {"note.txt", "two.svg", "two-layout.svg", *(set(first) - {"one.svg", "one-layout.svg"})}
    assert second["track.svg"] == first["track.svg"]


def test_bytes_repeat(tmp_path):
    """Of every sheet, and of all together."""
    train, folders = resolve(described(wagon="modules = ['box']\ncups = ['tea']\nwidth = 70")), [
        tmp_path / "one", tmp_path / "two"]
    for folder in folders:
        folder.mkdir()
        drawings.draw_all(train, tuple, folder)
    first, second = ({path.name: path.read_bytes() for path in folder.iterdir()} for folder in folders)
    assert first == second and len(first) == 4


def test_drawings_that_fail_leave_no_empty_folder(run, tmp_path, monkeypatch):
    file, out = tmp_path / "line.toml", tmp_path / "some" / "out"
    file.write_text(bare(), encoding="utf-8")

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(drawing_files, "draw_all", full)
    done = run("draw", file, "-o", out)
    assert done.exit_code == 2 and "No space left" in done.stderr and not out.parent.exists()
    out.mkdir(parents=True)
    assert run("draw", file, "-o", out).exit_code == 2 and list(out.iterdir()) == [], "what was there stays"


def test_a_file_of_somebody_else_is_not_written_over(run, tmp_path):
    file, folder = tmp_path / "line.toml", tmp_path / "out" / "test-line" / "drawings"
    file.write_text(bare(), encoding="utf-8")
    folder.mkdir(parents=True)
    (folder / "track.svg").write_text("mine")
    done = run("draw", file, "-o", tmp_path / "out")
    assert done.exit_code == 2 and "track.svg" in done.stderr and "move it away" in done.stderr
    assert [path.name for path in folder.iterdir()] == ["track.svg"]


def test_markers_are_left_out_where_to_find_them_takes_long(tmp_path):
    """With every radius the train's speed there has to be found; the sheet says where the markers are told."""
    plan = ", ".join(f"{{ go = 'left', radius = {330 + 10 * k}, angle = 10 }}" for k in range(7))
    many = resolve(described(track=f"plan = [{plan}]\nstop = [{{ name = 'door', station = 300 }}]",
                             module=SEEING["module"], wagon='modules = ["box"]'))
    assert drawing_files.markers_of(many) is None
    line = "plan = [{ go = 'straight', length = 900 }]\nstop = [{ name = 'door', station = 500 }]"
    few = resolve(described(track=line, module=SEEING["module"], wagon='modules = ["box"]'))
    assert [one.stop for one in drawing_files.markers_of(few) or ()][0] == "door"
    assert drawing_files.markers_of(resolve(described(track=line))) == (), "nothing of this train sees one"
    *_, sheet = drawings.sheets(many, lambda: None)
    assert "partgen ride tells" in " ".join(text for text, _ in reversed(texts_of(sheet)))   # from the lowest line up


def test_what_the_plan_refuses_is_drawn_and_marked(tmp_path):
    """A body too short for what it holds: one looks at it to see why."""
    train = resolve(described(wagon="modules = ['box']\ncups = ['tea', 'tea', 'tea']\nlength = 70\nwidth = 40"))
    assert train.wagons[0].wanting
    drawings.draw_all(train, tuple, tmp_path)
    assert drawings.REFUSED in (tmp_path / "one.svg").read_text(encoding="utf-8")
