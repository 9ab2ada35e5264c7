"""The locomotive's adaptor: where its coupler stands, what it asks of the face, what tape bears, and its solids."""

import re
from pathlib import Path

import numpy as np
import pytest
from conftest import bare, described
from msgspec.structs import replace

from partgen import parts
from partgen.checks import on_plan
from partgen.describe.toml_text import parsed
from partgen.errors import DescriptionError
from partgen.formulas.adhesive import joint_pull
from partgen.paper.assembly import steps
from partgen.paper.bill import bill
from partgen.paper.filenames import part_files
from partgen.plan.fasteners import fasteners
from partgen.plan.train import resolve
from partgen.remedies.search import treated
from partgen.remedies.workbench import Workbench
from partgen.solids.built import stand
from partgen.solids.mesh import mesh_of
from partgen.solids.overlap import overlaps

FACE = "under = 24, length = 22, width = 22"


def pulled(face=FACE, more="", **lines):
    return resolve(described(ride=f"[train.locomotive]\nmass = 900\n{more}\nadaptor = {{ {face} }}", **lines))


def found(train):
    return {one.reason or one.unit: one for one in on_plan.every(train, only={"adaptor"}) if one.verdict == "fail"}


def test_its_coupler_stands_where_the_wagons_do():
    """Coupled on straight track the faces meet half a gap beyond either body's end (the definition of `gap`), as high
    as the wagons' own; so the height misses by nothing whatever the couplers' height is."""
    for height in (13.0, 15.5):
        train = pulled(coupler=f"height = {height}", face="under = 30, length = 30, width = 30")
        head, at = train.head, {item.name: item.places[0] for item in train.head.items}
        assert train.hook == (height, head.bar.reach - train.description.coupler.gap / 2)
        assert head.plan.end == train.hook[1] and at["coupler"].z == height and at["coupler"].x == 0
        lines = {one.check: one for one in on_plan.every(train) if "locomotive + one" in str(one.subject)}
        assert lines["coupler-height"].value == 0
    # The drawbar is ours, so that its own swing is judged too, and its pivot lies as deep as the wagons'.
    own, made = (next(one for one in on_plan.every(train) if one.check == "coupler-swing") for train in (
        resolve(described(ride="[train.locomotive]\nmass = 900")), pulled()))
    assert made.value >= own.value - 3 and made.verdict == "pass"


@pytest.mark.parametrize("field", ["coupler_height = 13", "coupler_inset = 6"])
def test_a_coupler_of_its_own_beside_it_is_a_fault(field):
    with pytest.raises(DescriptionError) as told:
        pulled(more=field)
    fault, = told.value.faults
    assert fault.path == f"train.locomotive.{field.split()[0]}" and "delete" in fault.message


@pytest.mark.parametrize("face, field", [("under = 24, length = 70, width = 20", "length"),
                                         ("under = 24, length = 20, width = 51", "width")])
def test_a_face_larger_than_the_locomotive_is_a_fault(face, field):
    with pytest.raises(DescriptionError, match=rf"adaptor.{field}"):
        pulled(face)


def test_what_falls_short_is_told_and_mended_by_what_was_tried():
    for face, word in (("under = 20, length = 30, width = 30", "over rail top"),
                       ("under = 24, length = 14, width = 30", "flat for 14 mm"),
                       ("under = 24, length = 30, width = 12", "12 mm wide"),
                       ('under = 24, length = 22, width = 22, mount = "screws"', "screws into the locomotive")):
        short = found(pulled(face))
        assert any(word in reason for reason in short), (face, short)
    low = bare(ride="[train.locomotive]\nmass = 900\nadaptor = { under = 21.4, length = 30, width = 30 }")
    bench = Workbench(parsed(low, "low"), Path())
    finding, = [one for one in bench.found(()) if one.check == "adaptor" and one.verdict == "fail"]
    tried = {path: value for remedy in treated(bench, finding, most=9).remedies for path, value in remedy.edits}
    assert tried["train.locomotive.adaptor.mount"] == "glue" and tried["coupler.height"] < 13


def test_the_least_face_that_is_asked_for_holds():
    """Taken literally, what a reason asks for is enough."""
    reason, = (reason for reason in found(pulled("under = 18, length = 30, width = 30")) if "needs" in reason)
    least = float(re.search(r"needs ([\d.]+) mm", reason)[1])
    assert not found(pulled(f"under = {least}, length = 30, width = 30"))
    assert found(pulled(f"under = {least - 0.15:.2f}, length = 30, width = 30"))


def test_tape_bears_what_a_sum_by_hand_says():
    """4 mm of lever, 18 x 20 mm of tape that bears 0.085 MPa: under F the mean shear is F/360 mm2, and at the edge
    tension of F 4 mm over the section modulus 20 x 18^2 / 6 = 1080 mm3 (Euler-Bernoulli)."""
    force = joint_pull(0.085, 18, 20, 4)
    assert force / 360 + force * 4 / 1080 == pytest.approx(0.085)
    assert joint_pull(0.085, 18, 20, 0) == pytest.approx(0.085 * 360)
    tall = found(pulled("under = 60, length = 18, width = 18"))
    assert any("tape bears" in reason for reason in tall)
    assert not any("tape bears" in reason for reason in found(pulled("under = 60, length = 45, width = 40")))


def test_it_is_printed_bought_and_mounted_once():
    for mount, thing in (("tape", "double-sided tape"), ("glue", "two-part glue, thin film"),
                         ("screws", "screw for the locomotive's floor")):
        train = pulled(f'under = 26, length = 32, width = 30, mount = "{mount}"', coupler='layout = "single"')
        lines = {line.what: line for line in bill(train) if "locomotive" in line.wagons}
        assert thing in lines and lines["disc magnet, axially magnetised"].count == 3      # the wagon's two and its own
        step, = (step for step in steps(train) if step.title == "Magnet head on the locomotive")
        # The wagon shows N in front, so the locomotive shows S; both wagons' bars and its own share their files.
        assert "(marked S)" in step.text and set(step.new) == {"adaptor", "coupler-s", "coupler-cover", "magnet"}
        assert {plan.name for plan, _ in part_files(train)["coupler-s"]} == {"one", "locomotive"}
        assert [one.what for one in fasteners(train.head)] == ["adaptor"] and step.screws == fasteners(train.head)
        assert not [step for step in steps(train) if step.title == "Magnets on the locomotive"]
        kept = train.kept(["one"])
        assert kept.head == train.head


@pytest.mark.slow
@pytest.mark.parametrize("mount, under", [("tape", 23.0), ("screws", 40.0)])
def test_its_solids_are_as_planned_and_its_drawbar_swings_free(mount, under):
    """The drawbar at every angle up to its stop meets nothing of the adaptor, and a little beyond it does."""
    train = pulled(f'under = {under}, length = 34, width = 30, mount = "{mount}"')
    adaptor, bar, _ = train.head.items
    plate, moved = (mesh_of(parts.build(item.part, item.plan)) for item in (adaptor, bar))
    assert plate.is_watertight and plate.volume == pytest.approx(adaptor.plan.volume, rel=0.03)
    assert plate.extents == pytest.approx(adaptor.plan.size, abs=0.05)
    assert plate.bounds[1, 2] == pytest.approx(under - (1.0 if mount == "tape" else 0.0), abs=0.01)
    stop = train.description.coupler.swing

    def met(angle):
        turned = moved.copy().apply_transform(stand(replace(bar.places[0], yaw=angle)))
        return sum(volume for *_, volume in overlaps([("plate", plate), ("bar", turned)]))

    assert max(map(met, np.linspace(-stop, stop, 9))) < 0.01
    assert min(met(stop + 8), met(-stop - 8)) > 0.01
