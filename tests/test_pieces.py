"""No piece of the plan is lost on its way out: the check, an example that it must fail for every place, and whole
builds of trains whose names try to lose one, counted by readers that are not ours."""

import json
import re
import shutil
from collections import Counter
from types import SimpleNamespace

import numpy as np
import pygltflib
import pytest
from conftest import bare
from judges import needs_lib3mf, strictly_read
from names import NAMES, SHORTEST, named

from partgen.checks.pieces import Tally, piece_count
from partgen.export.hardware import hardware_bodies
from partgen.identity import ModulesId, PartId, SeatId, TrackPartId

LOADED = "modules = ['box']\ncups = ['tea', 'tea']\ninserts = ['Tea', 'TEA']"
CUPS = "label = 'glass'\n" + "".join(f"[cup.{name}]\nmass = 40\nprofile = [[0, {wide}], [60, {wide}]]\nfill = 10\n"
                                     for name, wide in (("Tea", 28), ("TEA", 30)))


def test_pieces_are_held_one_kind_and_place_at_a_time():
    lid, clip, gauge = PartId("a", "lid"), PartId("a", "clip"), TrackPartId("gauge")
    wanted = {lid: 1, clip: 4, gauge: 2}
    held, = piece_count([Tally("the plates", wanted, wanted), Tally("the bill", {lid: 1}, {lid: 1, clip: 0})])
    assert (held.check, str(held.subject), held.verdict) == ("piece-count", "train", "pass")
    assert (held.value, held.limit) == (0, 0)
    missing, over = piece_count([Tally("the plates", wanted, {clip: 4, gauge: 2}),
                                 Tally("the bill", wanted, {lid: 1, clip: 7, gauge: 2})])
    assert (missing.subject, missing.verdict, missing.value, missing.limit, missing.sense) == (lid, "fail", 0, 1, "min")
    assert missing.reason.startswith("1 of 1 missing from the plates:")
    assert (over.subject, over.verdict, over.value, over.limit, over.sense) == (clip, "fail", 7, 4, "max")
    assert over.reason.startswith("3 too many in the bill:")
    stray, = piece_count([Tally("the bill", {}, {gauge: 1})])
    assert stray.verdict == "fail" and stray.subject == gauge


def blocks(monkeypatch):
    """Draw every part as a plain block of its plan's size: the kernel needs a tenth of the time, and what is counted
    stays the same."""
    from cadquery import Workplane

    from partgen import parts
    monkeypatch.setenv("PARTGEN_CACHE", "")
    monkeypatch.setattr(parts, "build", lambda part, plan: Workplane().box(*plan.size).val())


@pytest.fixture(scope="module")
def many(tmp_path_factory):
    """Build a train of every name, the first wagon loaded, of blocks; return the outcome, what was counted and the
    train's bodies by name as (length, width, height) [mm]."""
    from partgen import pipeline
    from partgen.pipeline import workshop
    folder, asked = tmp_path_factory.mktemp("named"), []
    (folder / "line.toml").write_text(named(first=LOADED, cup=CUPS).replace(f"length = {SHORTEST}\n", "", 1))
    with pytest.MonkeyPatch.context() as patch:
        blocks(patch)
        count = workshop.tallies
        patch.setattr(workshop, "tallies", lambda *given: asked.append(given) or count(*given))
        done = pipeline.build(folder / "line.toml", folder / "out", anyway=True, pictures=False)
    sizes = {plan.name: plan.body.size for plan in done.train.wagons}
    assert len({round(size[0], 3) for size in sizes.values()}) == len(NAMES)
    return SimpleNamespace(done=done, records=asked[0][1], job=asked[0][2], bought=asked[0][3], bodies=sizes)


def kinds(train, loose=True):
    return Counter({(plan.name, item.name): item.count for plan in train.wagons for item in plan.items
                    if loose or not item.loose})


@pytest.mark.slow
def test_the_count_of_a_sound_build_holds(many):
    found = [finding for finding in many.done.findings if finding.check == "piece-count"]
    assert [(str(finding.subject), finding.verdict) for finding in found] == [("train", "pass")]
    assert json.loads((many.done.folder / "manifest.json").read_text())["verdict"] == "fail"     # blocks overlap


@pytest.mark.slow
def test_every_piece_is_in_the_stl_files(many):
    """Counted by numpy-stl: each wagon's body, of a length of its own, in one file."""
    stl = pytest.importorskip("stl.mesh")
    files = {record["path"]: record for record in many.done.files if record["part"]}
    assert {f"parts/{path.name}" for path in (many.done.folder / "parts").iterdir()} == set(files)
    lengths = Counter()
    for path, record in files.items():
        if record["part"] == "body":
            read = stl.Mesh.from_file(str(many.done.folder / path))
            lengths[round(float(np.ptp(read.vectors.reshape(-1, 3), axis=0)[0]), 2)] += record["count"]
    assert lengths == Counter(round(size[0], 2) for size in many.bodies.values())
    pieces = sum(record["count"] for record in files.values())
    assert pieces == sum(kinds(many.done.train).values()) + sum(item.count for item in many.done.train.trackside.items)
    inserts = [record for record in files.values() if record["part"].startswith("insert")]
    assert len(inserts) == 2 and [record["count"] for record in inserts] == [2, 2]


@pytest.mark.slow
@needs_lib3mf
def test_every_piece_is_on_a_plate(many):
    """Counted by lib3mf: as many items as pieces, each wagon's body once by its size as it lies."""
    sizes = Counter()
    for path in (many.done.folder / "plates").iterdir():
        for _, corners in strictly_read(path.read_bytes())[1]:
            sizes[tuple(sorted(np.round(np.ptp(corners.reshape(-1, 3), axis=0), 2).tolist()))] += 1
    assert sizes.total() == sum(kinds(many.done.train).values()) + sum(
        item.count for item in many.done.train.trackside.items)
    assert all(sizes[tuple(sorted(round(side, 2) for side in size))] == 1 for size in many.bodies.values())


@pytest.mark.slow
def test_every_piece_stands_in_its_wagon_s_step_file(many):
    """Counted in the text, without what is bought: an occurrence a piece and one product of the wagon's own name; ISO
    10303-21 spells letters beyond ASCII as \\X2\\ and UTF-16 (from memory)."""
    products = Counter()
    for path in (many.done.folder / "step").glob("*.step"):
        text = re.sub(r"\\X2\\([0-9A-F]+)\\X0\\", lambda found: bytes.fromhex(found[1]).decode("utf-16-be"),
                      path.read_text("ascii"))
        wagon = re.search(r"PRODUCT\('(.*?)'", text)[1]
        for part in re.findall(r"NEXT_ASSEMBLY_USAGE_OCCURRENCE\('\d+','([^' ]+)", text):
            products[wagon, part] += 1
    bought = {body.name.split(" ")[0] for plan in many.done.train.wagons for body in hardware_bodies(plan)}
    wanted = Counter()
    for (name, part), count in kinds(many.done.train, loose=False).items():
        wanted[name, part] += count
    assert bought and {key: count for key, count in products.items() if key[1] not in bought} == wanted
    assert len(list((many.done.folder / "step" / "parts").iterdir())) == len(
        [record for record in many.done.files if record["part"]])


@pytest.mark.slow
def test_every_piece_stands_in_the_scene(many):
    """Counted by pygltflib: as many nodes with a mesh as pieces, no two of one name, each body once by its length."""
    scene = pygltflib.GLTF2.load(str(many.done.folder / "train.glb"))
    nodes = [node for node in scene.nodes if node.mesh is not None]
    assert len({node.name for node in scene.nodes}) == len(scene.nodes)
    assert len(nodes) == sum(kinds(many.done.train, loose=False).values())
    bodies = [scene.meshes[node.mesh].primitives[0] for node in nodes if node.name.endswith("/body")]
    boxes = [scene.accessors[body.attributes.POSITION] for body in bodies]
    lengths = [1000 * (box.max[0] - box.min[0]) for box in boxes]
    assert sorted(lengths) == pytest.approx(sorted(size[0] for size in many.bodies.values()), abs=0.01)


# ---- what is lost in one place is found there

def lost_stl(folder, records, job, bought):
    (folder / "parts" / "chay-body.stl").unlink()
    return "the STL files", PartId("чай", "body"), 0, 1


def lost_from_plates(folder, records, job, bought):
    """One of a wagon's two inserts, printed for no place in particular."""
    plate = next(record for record in records if "insert-tea-in-tea" in record.get("holds", ()))
    del plate["holds"]["insert-tea-in-tea"]
    return "the plates", PartId("вагон", "insert-tea-in-tea"), 0, 2


def twice_on_plates(folder, records, job, bought):
    plate = next(record for record in records if "track-gauge" in record.get("holds", ()))
    plate["holds"]["track-gauge"] += 1
    return "the plates", TrackPartId("track-gauge"), 2, 1


def lost_single_step(folder, records, job, bought):
    (folder / "step" / "parts" / "tor-2-frame.step").unlink()
    return "the STEP files of single parts", PartId("Tör", "frame"), 0, 1


def lost_from_step(folder, records, job, bought):
    path = folder / "step" / "a-b.step"
    text, count = re.subn(r"NEXT_ASSEMBLY_USAGE_OCCURRENCE(\('\d+','axle-holder 1')", r"NONE\1", path.read_text())
    assert count == 1
    path.write_text(text)
    return "the wagons' STEP files", PartId("a-b", "axle-holder"), 1, 2


def lost_from_scene(folder, records, job, bought):
    path = folder / "train.glb"
    data = path.read_bytes()
    length = int.from_bytes(data[12:16], "little")
    scene = json.loads(data[20:20 + length])
    next(node for node in scene["nodes"] if node.get("name") == "omega-2/clamp-bar 2").pop("mesh")
    text = json.dumps(scene, separators=(",", ":")).encode()
    path.write_bytes(data[:20] + text.ljust(length) + data[20 + length:])
    return "train.glb", PartId("ωμεγα", "clamp-bar"), 1, 2


def lost_from_order(folder, records, job, bought, monkeypatch):
    rows, last = job.order(), NAMES[-1]
    rows = [row | {"count": 1} if (row["file"], row["for"]) == ("coupler", last) else row for row in rows]
    monkeypatch.setattr(type(job), "order", lambda self: rows)
    return "the print order", PartId(last, "coupler"), 1, 2


def lost_from_steps(folder, records, job, bought, monkeypatch):
    from msgspec.structs import replace

    from partgen.pipeline import tally
    told = [replace(step, new={name: way for name, way in step.new.items() if name != "lid-clip"},
                    there=tuple(name for name in step.there if name != "lid-clip")) for step in tally.steps(job.train)]
    monkeypatch.setattr(tally, "steps", lambda train: told)
    return "the assembly's steps", PartId("вагон", "lid-clip"), 0, 1


def merged_in_bill(folder, records, job, bought):
    """A line of the bill that tells of one thing for two."""
    from msgspec.structs import replace
    first, other, *_ = (place for place, line in enumerate(bought) if SeatId("вагон", "tea") in line.cargo
                        or ModulesId("вагон", ("box",)) in line.cargo)
    bought[first] = replace(bought[first], cargo=bought[first].cargo + bought[other].cargo, count=2)
    del bought[other]
    return "the bill of materials", SeatId("вагон", "tea"), 1, 2


def lost_from_bill(folder, records, job, bought):
    from msgspec.structs import replace
    place = next(place for place, line in enumerate(bought) if line.what == job.train.description.cup["tea"].label)
    bought[place] = replace(bought[place], count=bought[place].count - 1)
    return "the bill of materials", SeatId("вагон", "tea"), 1, 2


def over_in_bill(folder, records, job, bought):
    from msgspec.structs import replace
    place = next(place for place, line in enumerate(bought) if line.what == job.train.description.module["box"].label)
    bought[place] = replace(bought[place], count=bought[place].count + 1)
    return "the bill of materials", ModulesId("вагон", ("box",)), 2, 1


LOSSES = [lost_stl, lost_from_plates, twice_on_plates, lost_single_step, lost_from_step, lost_from_scene,
          lost_from_order, lost_from_steps, merged_in_bill, lost_from_bill, over_in_bill]


@pytest.mark.slow
@pytest.mark.parametrize("lose", LOSSES, ids=[lose.__name__ for lose in LOSSES])
def test_what_is_lost_in_one_place_is_named(many, lose, tmp_path, monkeypatch):
    from partgen.pipeline.tally import tallies
    folder = shutil.copytree(many.done.folder, tmp_path / "out")
    records, bought = json.loads(json.dumps(list(many.records))), list(many.bought)
    more = (monkeypatch,) if lose.__code__.co_argcount == 5 else ()
    place, *figures = lose(folder, records, many.job, bought, *more)
    found = list(piece_count(tallies(folder, records, many.job, bought)))
    assert all(finding.verdict == "fail" and f" {place}: " in finding.reason for finding in found)
    assert figures in [[finding.subject, finding.value, finding.limit] for finding in found]
    assert len(found) == 1


@pytest.mark.slow
def test_a_build_that_loses_a_piece_exports_nothing(tmp_path, monkeypatch):
    """What stands in the folder stays; with `anyway` the files are written, and the manifest says so."""
    from partgen import pipeline
    from partgen.checks import on_solids
    from partgen.pipeline import workshop
    blocks(monkeypatch)
    file, out = tmp_path / "line.toml", tmp_path / "out"
    file.write_text(bare(wagon="modules = ['box']"))
    monkeypatch.setattr(on_solids, "run", lambda built: ())        # blocks overlap
    assert not pipeline.build(file, out, pictures=False).failed
    (out / "test-line" / "parts" / "sliced.gcode").write_text("mine")
    before = {path: path.read_bytes() for path in out.rglob("*") if path.is_file()}
    made = workshop.stl_bytes
    monkeypatch.setattr(workshop, "record", lambda folder, path, record=workshop.record, **about: (
        record(folder, path, **about), path.unlink() if path.name == "lid.stl" else None)[0])
    assert made is workshop.stl_bytes
    done = pipeline.build(file, out, pictures=False)
    assert done.failed and done.folder is None and done.files == ()
    breach, = [finding for finding in done.findings if finding.verdict == "fail"]
    assert (breach.check, breach.subject) == ("piece-count", PartId("one", "lid"))
    assert "1 of 1 missing from the STL files" in breach.reason
    assert {path: path.read_bytes() for path in out.rglob("*") if path.is_file()} == before
    written = pipeline.build(file, out, pictures=False, anyway=True)
    manifest = json.loads((written.folder / "manifest.json").read_text())
    assert manifest["description_file"] == "../../line.toml"
    assert manifest["written_despite_failures"] and [one["check"] for one in manifest["failed"]] == ["piece-count"]
    assert (written.folder / "parts" / "sliced.gcode").read_text() == "mine"
    # A title that differs in capitals only is another train: it has a folder of its own.
    file.write_text(file.read_text().replace("Test line", "Test Line"))
    other = pipeline.build(file, out, pictures=False, anyway=True).folder
    assert other.name.startswith("test-line-") and json.loads(
        (written.folder / "manifest.json").read_text())["title"] == "Test line"
    assert pipeline.build(file, out, pictures=False, anyway=True).folder == other and len(list(out.iterdir())) == 2


@pytest.mark.slow
def test_real_parts_of_like_names_are_all_built(run, tmp_path):
    """Solids of the kernel this time, read by trimesh: closed, and each wagon's body of its own length."""
    from trimesh import load_mesh
    names = ["Tür", "Tör", "вагон", "a b", "a-b"]
    file = tmp_path / "line.toml"
    file.write_text(named(names))
    result = run("build", file, "-o", tmp_path / "out", "--no-pictures", "--anyway")
    assert "fault of its own" not in result.stderr
    folder = tmp_path / "out" / "test-line"
    read = {path.stem: load_mesh(path) for path in (folder / "parts").glob("*.stl")}
    assert all(mesh.is_watertight for mesh in read.values())
    called = {f"{stem}-{part}" for stem in ("tur", "tor", "vagon", "a-b", "a-b-2") for part in ("body", "frame")}
    assert called <= set(read)
    lengths = sorted(mesh.extents[0] for stem, mesh in read.items() if stem.endswith("-body"))
    assert lengths == pytest.approx([SHORTEST + place for place in range(len(names))], abs=0.05)


NAMESAKES = bare(
    module="label = 'nut'", cup="label = 'wheelset'",
    wagon="modules = ['box']\ncups = ['tea', 'tea']")


def test_the_bill_is_counted_by_who_rides_not_by_what_it_is_called():
    """A module called nut and a cup called wheelset beside bought ones: each line of the bill tells who it is."""
    from partgen.describe.load import loads
    from partgen.paper.bill import bill
    from partgen.plan.train import resolve
    lines = bill(resolve(loads(NAMESAKES)))
    assert Counter(line.what for line in lines) >= Counter({"wheelset": 2, "nut": 2})
    assert sorted((line.what, line.count, line.cargo) for line in lines if line.cargo) == [
        ("nut", 1, (ModulesId("one", ("box",)),)), ("wheelset", 2, (SeatId("one", "tea"),) * 2)]


@pytest.mark.slow
def test_no_piece_is_missed_where_cargo_is_called_as_what_is_bought(tmp_path, monkeypatch):
    from partgen import pipeline
    blocks(monkeypatch)
    (tmp_path / "line.toml").write_text(NAMESAKES)
    done = pipeline.build(tmp_path / "line.toml", tmp_path / "out", anyway=True, pictures=False)
    assert [finding.verdict for finding in done.findings if finding.check == "piece-count"] == ["pass"]
