"""A whole build: its files are taken by independent readers, and a second build gives the same bytes."""

import json
import os
import subprocess
import sys
from hashlib import sha256
from pathlib import Path
from types import SimpleNamespace

import pytest
from conftest import ROOT, bare, described
from judges import check_plate, needs_lib3mf, stl_judged
from trimesh import creation

from partgen.describe.printer_tables import Printer, Slicing
from partgen.export import threemf
from partgen.kept import Store
from partgen.paper.order import PrintJob
from partgen.paper.plates import Batch
from partgen.plan.item import Item, Place
from partgen.plan.trackside import MarkerPlan
from partgen.plan.train import resolve
from partgen.printing.estimate import NOTHING

BUILD = """
import json, sys
from pathlib import Path
from partgen import pipeline
made, entered = [], pipeline._workshop

def watched():
    workshop = entered()
    make = workshop.make
    workshop.make = lambda *given: made.append(make(*given)) or made[-1]
    return workshop

pipeline._workshop = watched
done = pipeline.build(Path(sys.argv[1]), Path(sys.argv[2]), anyway=True, pictures=False)
volumes = {item: volume for (_, item), volume in made[0][0].volumes.items()} if made else {}
heavy = [name for name in ("cadquery", "trimesh", "matplotlib") if name in sys.modules]
print(json.dumps({"folder": str(done.folder), "volumes": volumes, "reused": done.reused, "made": done.made,
                  "heavy": heavy}))
"""
WAGON = {"wagon": 'modules = ["box"]\ncups = ["tea"]'}
PAIRS = {"axle-holder", "clamp-bar", "coupler", "coupler-cover", "lid-clip"}     # two to a wagon, as everybody knows


def planned():
    """How many of each part the wagon has, and how many lie beside the track."""
    train = resolve(described(**WAGON))
    wagon, track = ({item.name: item.count for item in plan.items} for plan in train.printed)
    assert wagon.items() >= dict.fromkeys(PAIRS, 2).items()
    return wagon, track


def builds(description, *places):
    """Build a description into each of two places, None for not at all, in processes of their own at once, each with
    its own hash seed and clock: the first with workers and nothing kept, the second alone and with what is kept beside
    the description. Return what they print."""
    kept = str(description.parent / "kept")
    worlds = ({"PYTHONHASHSEED": "1", "TZ": "UTC0", "PARTGEN_CORES": "2", "PARTGEN_CACHE": ""},
              {"PYTHONHASHSEED": "77", "TZ": "EST+29", "PARTGEN_CORES": "1", "PARTGEN_CACHE": kept})
    started = [subprocess.Popen([sys.executable, "-c", BUILD, str(description), str(place)], stdout=subprocess.PIPE,
                                stderr=subprocess.PIPE, text=True, cwd=ROOT, env=os.environ | world)
               for place, world in zip(places, worlds, strict=True) if place]
    said = [process.communicate() for process in started]
    assert all(process.returncode == 0 for process in started), said
    return [json.loads(out) for out, _ in said]


def bytes_in(folder):
    return {path.relative_to(folder).as_posix(): sha256(path.read_bytes()).hexdigest()
            for path in sorted(Path(folder).rglob("*")) if path.is_file()}


@pytest.fixture(scope="module")
def description(tmp_path_factory):
    file = tmp_path_factory.mktemp("twice") / "one.toml"
    file.write_text(bare(**WAGON), encoding="utf-8")
    return file


@pytest.fixture(scope="module")
def twice(description):
    """Return of two builds of one wagon the folder and the kernel's volumes [mm3] by part."""
    answers = builds(description, description.parent / "workers", description.parent / "alone")
    assert not any(answer["reused"] for answer in answers), "though one got all of its parts from workers"
    return [(Path(answer["folder"]), answer["volumes"]) for answer in answers]


@pytest.mark.slow
def test_two_builds_give_the_same_bytes(twice):
    first, second = (bytes_in(folder) for folder, _ in twice)
    assert first == second
    assert {path.rsplit(".", 1)[1] for path in first} >= {"stl", "step", "glb", "html", "json"}
    assert "train.glb" in first and "step/one.step" in first and "step/parts/frame.step" in first


@pytest.mark.slow
def test_what_has_not_changed_is_not_made_again(description, twice, tmp_path):
    """The same again without a library that shapes or draws; with another wheelbase most parts are as they were,
    and the files are those of a build that knows of nothing before."""
    again, = builds(description, None, description.parent / "again")
    assert again["reused"] == {"arrangements": 1, "builds": 1} or again["reused"] == {"builds": 1}
    assert again["heavy"] == [] and bytes_in(again["folder"]) == bytes_in(twice[0][0])
    description.write_text(bare(**WAGON).replace("wheelbase = 64", "wheelbase = 65"), encoding="utf-8")
    fresh, changed = builds(description, tmp_path / "other", tmp_path / "changed")
    assert bytes_in(changed["folder"]) == bytes_in(fresh["folder"]) != bytes_in(again["folder"])
    assert 1 <= changed["made"]["parts"] < changed["reused"]["parts"]
    assert changed["reused"]["parts"] + changed["made"]["parts"] == fresh["made"]["parts"]


@pytest.mark.slow
@needs_lib3mf
def test_built_plates_are_read_strictly(twice):
    folder, volumes = twice[0]
    plates = sorted((folder / "plates").glob("*.3mf"))
    counts = [check_plate(path.read_bytes(), (210, 210)) for path in plates]
    total = {name: sum(count.get(name, 0) for count in counts) for count in counts for name in count}
    wagon, track = planned()
    assert total == wagon | track and set(total) == set(volumes)


@pytest.mark.slow
def test_built_stl_is_read_by_a_second_reader(twice):
    """As many triangles as the file's size says, and the solid's volume but for corners that facets cut."""
    folder, volumes = twice[0]
    for name, volume in volumes.items():
        data = (folder / "parts" / f"{name}.stl").read_bytes()
        assert stl_judged(data) == ((len(data) - 84) / 50, pytest.approx(volume, rel=5e-3))


@pytest.mark.slow
def test_built_step_is_read_back(twice):
    """Every part of the wagon by name, with the solid's volume within 0.01 %, and what is bought beside them; one part
    from its own file."""
    from cadquery import Assembly, importers

    folder, volumes = twice[0]
    wagon = Assembly.importStep(str(folder / "step" / "one.step"))
    expected = {f"{name} {number}" if count > 1 else name: volumes[name] for name, count in planned()[0].items()
                for number in range(1, count + 1)}
    assert wagon.name == "one"
    found = {child.name: child.shapes[0].Volume() for child in wagon.children}
    assert {name: found.pop(name) for name in expected} == pytest.approx(expected, rel=1e-4)
    assert found.keys() >= {"wheelset 2", "disc magnet, axially magnetised 2", "socket head screw 2", "nut 2"}
    lid, = importers.importStep(str(folder / "step" / "parts" / "lid.step")).solids().vals()
    assert lid.isValid() and lid.Volume() == pytest.approx(volumes["lid"], rel=1e-4)


TILE = MarkerPlan(24.0, 30.0, 3.0, 0.4, 1.5)


@pytest.mark.slow
def test_without_lib3mf_plates_are_plain_stl(tmp_path, monkeypatch):
    """As on Linux on arm64: every part is still on a plate, and a note says why the plates are STL."""
    from partgen.pipeline import workshop

    monkeypatch.setattr(threemf, "library", lambda: None)
    mesh = creation.box((60, 20, 8))
    item = Item("frame", "frame", TILE, (Place(), Place()))
    beam = Item("body", "body", TILE, (Place(),))
    plan = SimpleNamespace(name="one", items=(item, beam))
    printer = Printer(bed_x=120.0, bed_y=100.0, slicing=Slicing())
    train = SimpleNamespace(wagons=(plan,), printed=(plan,), title="t", description=SimpleNamespace(printer=printer))
    files = {"frame": [(plan, item)], "body": [(plan, beam)]}
    batches = {"frame": Batch("frame", mesh, 1, "dark-grey"),
               "body": Batch("body", creation.box((200, 20, 8)), 1, "wood")}
    job = PrintJob(train, files, dict.fromkeys(files, NOTHING), batches, NOTHING)
    (record,), notes = workshop._plates(tmp_path, job, Store())
    assert record["path"] == "plates/01-dark-grey.stl" and record["holds"] == {"frame": 2} and not record["rolls"]
    data = (tmp_path / record["path"]).read_bytes()
    assert stl_judged(data) == (24, pytest.approx(2 * 60 * 20 * 8, rel=1e-6))
    assert len(notes) == 2 and "body is on no plate" in notes[0] and "plain STL" in notes[1]
