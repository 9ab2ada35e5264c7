"""A whole build: files re-read by another program, the manifest against the files, what stops it."""

import json
import re
from hashlib import sha256
from shutil import copytree

import pytest
from conftest import bare
from stl import mesh as other_reader

from partgen.errors import OutputError
from partgen.files import replaced

pytestmark = pytest.mark.slow

WAGON = "modules = ['box']\ncups = ['tea']"


@pytest.fixture(scope="module")
def line(tmp_path_factory):
    """A description of one wagon that carries a module and a cup."""
    file = tmp_path_factory.mktemp("line") / "line.toml"
    file.write_text(bare(wagon=WAGON, ride='[ride]\nstop_time = 1.2\n[train]\nmaker_note = "Tea & talk until nine."'))
    return file


@pytest.fixture(scope="module")
def folder(line, tmp_path_factory):
    from click.testing import CliRunner

    from partgen.cli import main
    out = tmp_path_factory.mktemp("out")
    result = CliRunner().invoke(main, ["build", str(line), "-o", str(out), "--json"])
    assert result.exit_code == 0, result.output
    answer = json.loads(result.stdout)
    assert answer["files"] and all({"path", "sha256", "part", "bytes"} <= set(f) for f in answer["files"])
    return out / "test-line"


def test_manifest_tells_the_truth(folder):
    manifest = json.loads((folder / "manifest.json").read_text())
    assert manifest["verdict"] == "pass" and not manifest["written_despite_failures"]
    listed = {record["path"] for record in manifest["files"]}
    assert listed == {p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file()} - {"manifest.json"}
    for record in manifest["files"]:
        data = (folder / record["path"]).read_bytes()
        assert sha256(data).hexdigest() == record["sha256"] and len(data) == record["bytes"]


def test_a_form_that_was_filled_in_stays_through_the_next_build(run, line, folder, tmp_path):
    form = copytree(folder, tmp_path / folder.name) / "first-run.toml"
    blank, filled = form.read_bytes(), form.read_bytes().replace(b"times = []", b"times = [20.1, 20.4]")
    assert filled != blank and b'cup = "tea"' in blank
    form.write_bytes(filled)
    assert run("build", line, "-o", tmp_path, "--no-pictures").exit_code == 0
    record, = (one for one in json.loads((tmp_path / folder.name / "manifest.json").read_text())["files"]
               if one["path"] == form.name)
    assert form.read_bytes() == filled and record["sha256"] == sha256(filled).hexdigest()
    assert record["blank_sha256"] == sha256(blank).hexdigest(), "by which the build after that knows it again"


def test_a_second_reader_finds_the_same_solids(folder):
    """numpy-stl: closed, positive volume, and at PLA's 1.24 g/cm3 (as published by filament sellers) about the
    mass that the manifest states: less where it is hollow; 2.405 cm3 are a metre of filament."""
    manifest = json.loads((folder / "manifest.json").read_text())
    parts = {r["path"]: r for r in manifest["files"] if r["path"].startswith("parts/")}
    assert len(parts) >= 8
    for path, record in parts.items():
        file = folder / path
        read = other_reader.Mesh.from_file(str(file))
        assert file.stat().st_size == 84 + 50 * len(read.vectors)
        assert file.read_bytes()[:5] != b"solid"
        volume, _, _ = read.get_mass_properties()
        assert 0.55 * volume * 1.24e-3 < record["mass_g"] < 1.06 * volume * 1.24e-3 + 0.01
        assert record["mass_g"] == pytest.approx(record["filament_m"] * 1.24 * 2.4053, rel=0.05, abs=0.03)
        assert read.z.min() == pytest.approx(0, abs=1e-4)


def test_pictures_and_report_are_there(folder):
    report = (folder / "report.html").read_text()
    assert "<script" not in report and "checks hold" in report and "Small strong magnets" in report
    assert "<p>Tea &amp; talk until nine.</p>" in report
    assert re.search(r'<td>snap-strain</td><td>[^<]*</td><td class="n">0\.00[0-9]{2}[ *]*</td>', report)
    assert not re.search(r"[>\s]-0[,<]", report)
    pictures = sorted(p.name for p in (folder / "pictures").glob("*.png"))
    assert {"train.png", "one.png", "one-apart.png"} <= set(pictures)
    assert all(f"pictures/{name}" in report for name in pictures)


def test_a_failing_check_stops_the_export_or_marks_it(run, tmp_path):
    file = tmp_path / "tight.toml"
    file.write_text(bare(wagon=WAGON, track="clearance = [{high = 200, half_width = 25}]"))
    assert run("build", file, "-o", tmp_path / "out", "--no-pictures").exit_code == 1
    assert not (tmp_path / "out").exists()
    assert run("build", file, "-o", tmp_path / "out", "--no-pictures", "--anyway").exit_code == 1
    manifest = json.loads((tmp_path / "out" / "test-line" / "manifest.json").read_text())
    assert manifest["written_despite_failures"] and manifest["failed"]
    assert "checks fail" in (tmp_path / "out" / "test-line" / "report.html").read_text()


def test_a_full_disk_leaves_the_old_output(tmp_path):
    target = tmp_path / "tea-line"
    target.mkdir()
    (target / "old").write_text("old")
    with pytest.raises(OutputError, match="untouched"):
        with replaced(target) as fresh:
            (fresh / "half").write_text("x")
            raise OSError(28, "No space left on device")
    assert [p.name for p in tmp_path.rglob("*")] == ["tea-line", "old"]


def test_a_new_output_takes_the_old_one_s_place(tmp_path):
    target = tmp_path / "line"
    for word in ("first", "second"):
        with replaced(target, ("first",)) as fresh:
            (fresh / word).write_text(word)
    assert [p.name for p in tmp_path.rglob("*")] == ["line", "second"]
