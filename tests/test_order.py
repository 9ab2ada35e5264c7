"""The order of work: plates beside steps, pieces counted plate by plate, hours summed by hand."""

import json
import random
from functools import cache
from itertools import accumulate, pairwise
from unittest.mock import patch

import pytest
from conftest import bare
from trimesh import creation

from partgen.describe.load import loads
from partgen.errors import TooSoon
from partgen.packing.nesting import nest
from partgen.paper.assembly import steps
from partgen.paper.filaments import FILAMENTS
from partgen.paper.filenames import part_files
from partgen.paper.order import InTime, print_job
from partgen.paper.sequence import wagons_in_order
from partgen.parts import printed_size, record_of
from partgen.parts.record import POSES
from partgen.plan.train import resolve
from partgen.printing.estimate import estimate
from partgen.solids.built import Built

EYE = """[module.eye]
length = 20
width = 12
height = 8
mass = 8
looks_out = [{ side = "bottom", width = 6, height = 6 }]"""
LOADS = ('cups = ["tea"]', 'modules = ["box"]', 'modules = ["eye"]\nlength = 150',
         'cups = ["tea", "tea"]\nmodules = ["box"]', "length = 170",
         "pivot_spacing = 150\nlength = 230\nwheelbase = 34")


def line(loads_, **lines):
    """A description of wagons called a, b, c with those loads; `lines` go into other tables."""
    first, *others = (load if "wheelbase" in load else f"{load}\nwheelbase = 64" for load in loads_)
    rest = "\n".join(f'[[wagon]]\nname = "{name}"\n{load}' for name, load in zip("bcdef", others, strict=False))
    text = bare(module=EYE, wagon=f"{first}\n{rest}", **lines)
    return text.replace('name = "one"\nwheelbase = 64', 'name = "a"')


def job_of(loads_, printer="", seed=0, **lines):
    """The print of a train whose parts are blocks as long and as wide as they are planned, of random heights."""
    dice, train = random.Random(seed), resolve(loads(line(loads_, printer=printer, **lines)))
    meshes = {}
    for plan in train.printed:
        for item in plan.items:
            x, y, _ = printed_size(item)
            turned = [abs(sum(row[k] * side for row, side in zip(POSES[record_of(item.part).pose],
                                                                 (x, y, dice.uniform(0.4, 4)), strict=True)))
                      for k in range(3)]
            meshes[plan.name, item.name] = creation.box(turned)
    with patch("partgen.printing.coupon_mesh.coupon_mesh", lambda plan: creation.box((60, 40, 4))):
        return print_job(Built(train, meshes, {}), part_files(train))


TRAINS = [((0, 1, 2), ""), ((3, 4, 1), "spools = 1"), ((2, 0, 5), "spools = 2\nbed_x = 240"),
          ((3, 2, 2, 0), "spools = 3\nbed_x = 180\nbed_y = 180"), ((1, 1, 4), "spools = 1\nbed_x = 400\nbed_y = 400")]
JOBS = pytest.mark.parametrize("kinds, printer, seed", [(*train, seed) for seed, train in enumerate(TRAINS)])


@cache
def made(kinds, printer, seed):
    return job_of([LOADS[kind] for kind in kinds], printer, seed)


@JOBS
def test_plates_come_in_the_order_of_the_steps(kinds, printer, seed):
    """Known from the plan alone, before anything is shaped: report, pictures and plates say the same."""
    job = made(kinds, printer, seed)
    told = [step.wagons[0] for step in steps(job.train) if len(step.wagons) == 1]
    assert list(dict.fromkeys(told)) == list(job.rolls) == list(wagons_in_order(job.train))
    first = [name for run in job.runs if run.wagon is None for name in run.plate.counts]
    tried = [name for step in steps(job.train)[:len(first)] for name in step.new]
    assert sorted(first) == sorted(tried)


@JOBS
def test_plates_follow_the_order_and_hold_every_piece(kinds, printer, seed):
    """Gauges alone on the first; then no plate has pieces of two wagons, and a wagon rolls when all its pieces are
    there, its small things with it, and what the track needs for it."""
    job = made(kinds, printer, seed)
    wagons = [run.wagon for run in job.runs]
    assert list(dict.fromkeys(wagons)) == [None, *job.rolls] and wagons == sorted(wagons, key=wagons.index)
    assert [run.number for run in job.runs] == list(range(1, len(wagons) + 1))
    assert [run.name for run in job.runs] == sorted(run.name for run in job.runs)
    left = {plan.name: {item.name: item.count for item in plan.items} for plan in job.train.wagons}
    beside = {item.name: item.count for item in job.train.trackside.items}
    for run in job.runs:
        for stem, count in run.plate.counts.items():
            item = job.files[stem][0][1]
            held = left[run.wagon] if run.wagon and item.name in left[run.wagon] else beside
            held[item.name] -= count
            assert run.wagon or "gauge" in item.part or item.part == "radius-template"
        if run.last and run.wagon:
            assert not any(left[run.wagon].values())
            assert not any(beside[item.name] for item in job.train.trackside.items if run.wagon in item.serves)
    assert not any(beside.values()) and not any(count for items in left.values() for count in items.values())
    rows = job.order()
    assert [row["plate"] for row in rows] == [None, *(run.number for run in job.runs for _ in run.plate.counts)]
    assert sum(row["count"] for row in rows) == 1 + sum(job.pieces(stem) for stem in job.files)


@JOBS
def test_hours_are_those_of_its_plates_one_after_the_other(kinds, printer, seed):
    job = made(kinds, printer, seed)
    heating = job.train.description.printer.slicing.heating
    each = [heating + sum((job.each[stem] * count for stem, count in run.plate.counts.items()),
                          start=job.each[next(iter(run.plate.counts))] * 0).time for run in job.runs]
    hours = list(accumulate(each, initial=job.coupon.time + heating))
    assert [run.done for run in job.runs] == pytest.approx(hours[1:])
    record = job.record()
    assert [row["done_after_s"] for row in record["print_order"]] == sorted(
        row["done_after_s"] for row in record["print_order"])
    assert record["all_plates"]["print_time_s"] == pytest.approx(sum(each), abs=1)
    assert [row["wagon"] for row in record["rolls"]] == list(job.rolls)


@pytest.mark.parametrize("spools", [1, 2, 3, 4])
def test_so_many_spools_so_many_colours(spools):
    """With one everything of a wagon lies on common plates, as few as its footprints take."""
    job = job_of(LOADS[:3], f"spools = {spools}")
    assert {run.plate.filament for run in job.runs} <= set(list(FILAMENTS)[:spools])
    assert spools == 1 or len({run.plate.filament for run in job.runs}) > 1
    if spools == 1:
        for wagon in (None, *job.rolls):
            mine = [run.plate for run in job.runs if run.wagon == wagon]
            sizes = [tuple(batch.mesh.extents[:2]) for plate in mine for batch, places in plate.stands for _ in places]
            assert len(mine) == nest(sizes, (210, 210)).plates


def test_printed_wheels_are_told_to_be_solid_where_they_are_printed():
    job = job_of(LOADS[1:2], wheelset="printed = true")
    for run in job.runs:
        told = job.of_run(run)["how"]
        assert told == ("print wheels solid, 100 % infill" if "wheel" in run.plate.counts else "")
        assert {row["how"] for row in job.order() if row["plate"] == run.number} == {told}
    assert any("wheel" in run.plate.counts for run in job.runs)


def test_printed_wheels_are_estimated_as_they_are_told():
    """Solid, as one is that is nothing but skins; as the other parts are set it would weigh less."""
    job = job_of(LOADS[1:2], "[printer.slicing]\nskins = 0", wheelset="printed = true")
    mesh, told, printer = job.batches["wheel"].mesh, job.each["wheel"], job.train.description.printer
    skins = estimate(mesh, printer.model_copy(update={"slicing": printer.slicing.model_copy(update={"skins": 20})}))
    hollow = estimate(mesh, printer)
    assert (told.mass, told.time) == pytest.approx((skins.mass, skins.time)) and hollow.mass < 0.8 * told.mass


def test_what_others_need_lies_on_an_earlier_plate():
    job = job_of(LOADS[:3])
    for earlier, later in pairwise(run for run in job.runs if run.wagon == "b"):
        assert ("b-frame" in earlier.plate.counts) >= ("b-frame" in later.plate.counts)


# ---- by an hour

def test_as_many_wagons_as_roll_by_then():
    job = job_of(LOADS[:3])
    (first, soon), (second, later), (third, last) = job.rolls.items()
    for seconds, there in ((soon, [first]), (later - 1, [first]), (later, [first, second]), (last, [*job.rolls]),
                           (9 * last, [*job.rolls])):
        cut = job.by(seconds / 3600 + 1e-9)
        assert list(cut.wagons) == there
        assert [late["wagon"] for late in cut.record()["left_out"]] == [name for name in job.rolls if name not in there]
        assert all(f"{name} (would roll after" in str(cut) for name in job.rolls if name not in there)
    with pytest.raises(TooSoon, match=rf"no wagon rolls within 0.25 h: {first} is the first, after [\d.]+ h"):
        job.by(0.25)
    said = pytest.raises(TooSoon, job.by, 0.25).value.args[0]
    assert job.by(float(said.split("after ")[1].split(" h")[0])).wagons == (first,)     # the remedy taken literally


@JOBS
def test_pieces_are_called_as_in_the_whole_train(kinds, printer, seed):
    """What is left out takes no name with it: a piece printed on the first evening is the same file on the last."""
    train = made(kinds, printer, seed).train
    whole, order = part_files(train), wagons_in_order(train)
    for many in range(1, len(order)):
        short = train.kept(order[:many])
        files = part_files(short)
        assert wagons_in_order(short) == order[:many]
        assert set(files) <= set(whole)
        assert {(plan.name, item.name) for users in files.values() for plan, item in users} == {
            (plan.name, item.name) for plan in short.printed for item in plan.items}
        for stem, users in files.items():
            assert all(one in [(plan.name, item.name, item.plan) for plan, item in whole[stem]]
                       for one in [(plan.name, item.name, item.plan) for plan, item in users])
        assert [plan.name for plan in short.left_out] == [plan.name for plan in train.wagons
                                                          if plan.name not in order[:many]]
        assert not any(item.serves and not set(item.serves) & set(order[:many]) for item in short.trackside.items)


def test_what_is_left_out_is_said():
    cut = InTime(20.0, {"cups": 3600 * 9.0, "pantry": 3600 * 26.04})
    assert str(cut) == "built for 20 h of printing; left out: pantry (would roll after 26.1 h)"
    assert str(InTime(30.0, cut.rolls)).endswith("left out: nothing")


def test_a_part_larger_than_the_bed_keeps_its_wagon_from_rolling():
    job = job_of(("length = 185", 'cups = ["tea"]'), "bed_x = 150\nbed_y = 130")
    assert "a-body" in job.too_large and list(job.rolls) == ["b"]
    alone = job_of(("length = 185",), "bed_x = 150\nbed_y = 130")
    with pytest.raises(TooSoon, match="each has a part that is larger than the bed"):
        alone.by(100)


@pytest.mark.slow
def test_a_train_that_rolls_by_then_is_built(tmp_path, run, monkeypatch):
    """Of blocks: its folder tells of one wagon alone and of what was left out; a shorter time is refused."""
    from cadquery import Workplane

    from partgen import parts
    monkeypatch.setenv("PARTGEN_CACHE", "")
    monkeypatch.setattr(parts, "build", lambda part, plan: Workplane().box(*plan.size).val())
    file = tmp_path / "line.toml"
    file.write_text(line(LOADS[:3], wheelset="printed = true"), encoding="utf-8")
    words = "build", file, "-o", tmp_path / "out", "--anyway", "--no-pictures", "--hours"
    refused = run(*words, 1)
    assert refused.exit_code == 2 and "no wagon rolls within 1 h" in refused.stderr and not (tmp_path / "out").exists()
    first, hours = refused.stderr.split("1 h: ")[1].split()[0], refused.stderr.split("after ")[1].split()[0]
    done = run(*words, hours)
    assert f"note: built for {float(hours):g} h of printing; left out:" in done.stderr
    folder, = (tmp_path / "out").iterdir()
    manifest = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
    printing = manifest["printing"]
    assert [row["wagon"] for row in printing["rolls"]] == [first]
    assert {row["wagon"] for row in printing["left_out"]} == {"a", "b", "c"} - {first}
    assert max(row["done_after_s"] for row in printing["print_order"]) <= 3600 * float(hours)
    assert {name for one in manifest["bill_of_materials"] for name in one["wagons"]} == {first, "locomotive", "track"}
    assert [path.name for path in (folder / "step").glob("*.step")] == [f"{first}.step"]
    plates = [one for one in manifest["files"] if one.get("plate")]
    assert [one["plate"] for one in plates] == list(range(1, len(plates) + 1)) and plates[-1]["rolls"]
    report = (folder / "report.html").read_text(encoding="utf-8")
    assert f"{first} rolls" in report and "left out:" in report and "; print wheels solid" in report
    assert run("build", file, "--hours", 0).exit_code == 2
