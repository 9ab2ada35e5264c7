"""A build of what is asked for alone: less is made, and nothing untrue stands beside it. Parts are plain blocks."""

import json

import pytest
from conftest import bare
from test_pieces import blocks

from partgen import pipeline
from partgen.checks import on_solids
from partgen.describe.load import loads
from partgen.errors import OutputError, UnknownName
from partgen.pipeline import forms, workshop
from partgen.pipeline.asked import KINDS, Asked, sources
from partgen.pipeline.repeat import wishes
from partgen.plan.train import resolve

TWO = "modules = ['box']\nlength = 150"
REST = {"coupler": "remanence = 0.9",
        "ride": "[ride]\nstop_time = 1.2\n[train.locomotive]\nmass = 1500\nadhesion = 0.4"}


def text(two=TWO):
    """Return a train of two wagons, the second with those lines."""
    return bare(wagon=f"modules = ['box']\ncups = ['tea']\n[[wagon]]\nname = 'two'\nwheelbase = 64\n{two}", **REST)


class Line:
    """A train's file, its folder, and the parts that were shaped since one last asked."""

    def __init__(self, folder):
        self.file, self.folder, self.shaped = folder / "line.toml", folder / "test-line", []
        self.file.write_text(text(), encoding="utf-8")

    def build(self, parts=(), wagons=(), kinds=(), **given):
        self.shaped.clear()
        return pipeline.build(self.file, self.folder.parent, asked=Asked(parts, wagons, kinds), pictures=False, **given)

    @property
    def manifest(self):
        return json.loads((self.folder / "manifest.json").read_text(encoding="utf-8"))

    @property
    def here(self):
        return {path.relative_to(self.folder).as_posix() for path in self.folder.rglob("*") if path.is_file()}


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    return tmp_path_factory.mktemp("kept")


@pytest.fixture
def line(tmp_path, monkeypatch, kept):
    """Every part a plain block; they overlap, so checks of solids are left out."""
    blocks(monkeypatch)
    monkeypatch.setenv("PARTGEN_CACHE", str(kept))
    monkeypatch.setattr(on_solids, "run", lambda built: ())
    line, shape = Line(tmp_path), forms._shaped
    monkeypatch.setattr(forms, "_shaped", lambda item: line.shaped.append(item.name) or shape(item))
    return line


@pytest.mark.slow
def test_only_what_is_asked_for_is_made_and_written(line, monkeypatch):
    monkeypatch.setenv("PARTGEN_CACHE", "")
    done = line.build(parts=("lid",))
    assert line.shaped == ["lid", "lid"] and done.asked["parts"] == ["lid"] and done.asked["only"] == [
        "stl", "step", "plates"]
    assert {one["path"] for one in done.files} | {"manifest.json"} == line.here == {
        "parts/one-lid.stl", "parts/two-lid.stl", "step/parts/one-lid.step", "step/parts/two-lid.step",
        "plates/asked-01-green.3mf", "manifest.json"}
    assert any("only 2 of" in note and "how those of one, two fit together" in note for note in done.warnings)
    done = line.build(parts=("two-lid",), kinds=("stl",))
    assert line.shaped == ["lid"] and [one["path"] for one in done.files] == ["parts/two-lid.stl"]
    assert "plates/asked-01-green.3mf" in done.asked["kept"] and "parts/one-lid.stl" in line.here
    done = line.build(parts=("coupler",), kinds=("plates",))
    assert done.asked["removed"] == ["plates/asked-01-green.3mf"], "which held other parts"
    done = line.build(wagons=("two",), kinds=("stl", "step", "plates"))
    assert "step/two.step" in line.here and "step/one.step" not in line.here
    clip, = (one for one in done.files if one["part"] == "axle-holder")
    assert clip["count"] == 4 and clip["wagons"] == ["one", "two"], "the file is of all who use it"
    plates = [one for one in done.files if one.get("plate")]
    assert sum(one["holds"].get("axle-holder", 0) for one in plates) == 2, "but plates hold what was asked for"
    assert {one["for"] for one in plates} == {"what was asked for"} and not any(one["rolls"] for one in plates)
    done = line.build(kinds=("ride", "bill"))
    assert line.shaped == [] and {one["kind"] for one in done.files} == {"ride", "bill"}
    assert any("no part was made" in note for note in done.warnings)


@pytest.mark.slow
def test_what_stays_of_an_earlier_build_is_true_and_told(line):
    whole = line.build()
    assert whole.asked is None and line.manifest["asked"] is None
    assert {one["kind"] for one in whole.files} == KINDS.keys() - {"pictures"}
    before, note = line.here, line.folder / "note.txt"
    note.write_text("mine")
    done = line.build(kinds=("bill",))
    assert done.asked["removed"] == [] and line.here == before | {"note.txt"} and line.shaped == []
    assert line.manifest["printing"]["print_order"], "of the plates that stay"
    line.build(kinds=("report",))
    report = (line.folder / "report.html").read_text()
    assert "ride-card.png" in report and "parts/two-lid.stl" in report and "bom.csv" in report, "which stay"
    assert {one["path"] for one in line.manifest["files"]} | {"manifest.json"} == before
    form = line.folder / "first-run.toml"
    form.write_text(form.read_text().replace("times = []", "times = [20.1]"))
    line.file.write_text(text(two="modules = ['box']\nlength = 152"), encoding="utf-8")
    done = line.build(parts=("one-lid",), kinds=("stl",))
    assert "times = [20.1]" in form.read_text() and note.read_text() == "mine"
    assert {"report.html", "bom.csv", "train.glb", "step/two.step", "parts/two-body.stl"} <= set(done.asked["removed"])
    assert {"parts/axle-holder.stl", "step/parts/one-body.step", "step/one.step"} <= set(done.asked["kept"])
    assert line.here == {*done.asked["kept"], "parts/one-lid.stl", "manifest.json", "note.txt"}
    source = sources(resolve(loads(line.file.read_text())))
    assert all(one["made_of"] == source(one["path"]) for one in line.manifest["files"] if one["path"] != form.name)
    assert done.changed["print_again"] == done.changed["gone"] == {}
    assert "parts/axle-holder.stl" in done.changed["as_printed"]
    again = line.build()                    # is held against the first whole build, not against what stood there
    assert "parts/two-body.stl" in again.changed["print_again"] and again.changed["new"] == {}
    assert "first-run.toml" in {one["path"] for one in again.files} and "times = [20.1]" in form.read_text()


@pytest.mark.slow
def test_what_was_touched_or_failed_does_not_pass_for_true(line, monkeypatch):
    line.build()
    (line.folder / "parts" / "two-lid.stl").write_bytes(b"other")
    assert line.build(kinds=("bill",)).asked["removed"] == ["parts/two-lid.stl"]
    line.file.write_text(text().replace("stop_time = 1.2", "stop_time = 1"), encoding="utf-8")
    assert line.build(parts=("lid",)).folder is None, "the whole train is checked"
    line.build(anyway=True)
    line.file.write_text(text(), encoding="utf-8")
    line.build(kinds=("bill",))
    assert line.manifest["verdict"] == "fail" and line.manifest["written_despite_failures"], "for what stays of it"
    real, manifest = workshop.still_true, line.folder / "manifest.json"
    anew = manifest.read_text().replace('"verdict": "fail"', '"verdict": "pass"')
    monkeypatch.setattr(workshop, "still_true", lambda *given: (real(*given), manifest.write_text(anew))[0])
    with pytest.raises(OutputError, match="test-line was built anew meanwhile, .* build once more"):
        line.build(kinds=("bill",))     # whose records of what stays are of the build before
    assert manifest.read_text() == anew


def test_a_value_that_somebody_gave_makes_another_report_and_the_same_parts():
    """Even where it is the usual one: the report marks what nobody measured."""
    left, given = (loads(bare(printer=line)) for line in ("", "snap_share = 0.9"))
    assert wishes(left, False, Asked(), None) != wishes(given, False, Asked(), None)
    was, now = (sources(resolve(one)) for one in (left, given))
    assert was("report.html") != now("report.html") and was("parts/body.stl") == now("parts/body.stl")


def test_how_full_a_part_is_printed_makes_no_other_solid():
    """But its STL's record tells how long it takes."""
    was, now = (sources(resolve(loads(bare(printer=f"slicing.infill = {share}")))) for share in (20, 30))
    assert was("parts/body.stl") != now("parts/body.stl")
    assert was("step/parts/body.step") == now("step/parts/body.step") != now("step/parts/frame.step")


@pytest.mark.parametrize(("asked", "said"), [
    (Asked(parts=("lit",)), 'no part is called "lit", did you mean "lid"?; there are axle-holder, '),
    (Asked(wagons=("three",)), 'no wagon is called "three"; there are one, two'),
    (Asked(parts=("track-gauge",), wagons=("two",)), 'no part of two is called "track-gauge"'),
    (Asked(kinds=("stl", "svg")), 'no kind of file is called "svg"; there are stl, step, plates, gltf, '),
    (Asked(parts=("lid",), kinds=("stl", "report")), "report: made of the whole train only; leave --part and --wagon"),
    (Asked(kinds=("pictures",)), "leave --no-pictures out"),
])
def test_names_that_mean_nothing_are_refused_with_the_choices(asked, said):
    with pytest.raises(UnknownName) as refused:
        asked.settled(resolve(loads(text())), pictures=False)
    assert said in str(refused.value)


@pytest.mark.slow
def test_the_terminal_tells_what_was_asked_and_what_was_not(line, run, tmp_path):
    words = "build", line.file, "-o", tmp_path
    assert run(*words, "--part", "sail").exit_code == 2 and not line.folder.exists()
    done = run(*words, "--only", "bill, ride")
    assert done.exit_code == 0 and "files written as asked: ride" in done.stdout and "no check on solids" in done.stderr
    line.file.write_text(text(two="modules = ['box']\nlength = 152"), encoding="utf-8")
    done = run(*words, "--wagon", "two", "--only", "stl")
    assert "ride.h into" not in done.stdout
    assert "removed, as no longer true or of another choice: bom.csv, firmware/ride.h" in done.stdout
    answer = json.loads(run(*words, "--only", "bill", "--json").stdout)
    assert answer["asked"]["only"] == ["bill"] and [one["path"] for one in answer["files"]] == ["bom.csv"]


@pytest.mark.slow
def test_the_terminal_tells_what_to_print_again(line, run):
    """A wagon renamed keeps all its parts; of a wagon more that is like it as many pieces again are to print."""
    def build(description, *more):
        line.file.write_text(description, encoding="utf-8")
        done = run("build", line.file, "-o", line.folder.parent, "--no-pictures", *more)
        return done.stdout if done.exit_code == 0 else done.stderr
    assert "give one FILE" in build(text(), "--printed", "--part", "lid")
    assert "holds no parts that could be printed" in build(text(), "--printed")
    assert "print" not in build(text()).split("pieces")[1]
    longer = text(two=f"{TWO}\n[[wagon]]\nname = 'three'\nwheelbase = 64\n{TWO}\n").replace("'two'", "'last'")
    told = build(longer)
    assert "if you printed what was first built in this folder" in told and "print again" not in told
    assert "last-three-lid, was two-lid" in told and "of no use" not in told and "left over" not in told
    assert {"1 x last-three-lid", "2 x axle-holder"} <= {*told.split("print more: ")[1].splitlines()[0].split("; ")}
    told = json.loads(build(text(), "--printed", "--json"))["changed"]
    assert told["printed"] and told == line.manifest["changed"] and told["over"]["parts/axle-holder.stl"] == 2
    assert not told["print_again"] and not told["new"] and not told["more"]


@pytest.mark.slow
def test_a_part_made_alone_is_proved_as_ever(tmp_path, monkeypatch):
    """By the kernel: every check of a single solid is asked of it, none of how parts fit."""
    monkeypatch.setenv("PARTGEN_CACHE", "")
    line = Line(tmp_path)
    done = line.build(parts=("coupler-cover",), kinds=("stl",))
    solid = {one.check for one in done.findings if getattr(one.subject, "part", "") == "coupler-cover"}
    assert {"closed-mesh", "one-body", "volume-match", "wall", "slot", "void", "overhang", "bridge"} <= solid
    assert "interference" not in {one.check for one in done.findings} and not done.failed
    assert {"inner-throw", "outer-throw", "bed"} <= {one.check for one in done.findings}
