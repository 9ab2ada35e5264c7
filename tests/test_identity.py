"""Who is meant: what a finding's subject says, tells as data, and concerns."""

import json

import pytest
from conftest import DEMO, bare

from partgen.checks import on_plan
from partgen.describe.load import load, loads
from partgen.finding import judge
from partgen.identity import (
    CouplingId,
    LocomotiveId,
    ModulesId,
    ObstacleId,
    PartId,
    PassingId,
    RampId,
    SeatId,
    StuckId,
    Subject,
    TrackPartId,
    TrackPlanId,
    WagonId,
)
from partgen.plan.train import resolve

LOCO, A, B = LocomotiveId(), WagonId("a"), WagonId("b/c + d")

WHO = [
    (LOCO, "locomotive", {"vehicle": "locomotive"}, ()),
    (A, "a", {"wagon": "a"}, ("a",)),
    (PartId("a", "lid"), "a/lid", {"wagon": "a", "part": "lid"}, ("a",)),
    (ModulesId("a", ("lamp", "fan")), "a/lamp, fan", {"wagon": "a", "modules": ["lamp", "fan"]}, ("a",)),
    (SeatId("a", "tea"), "a/tea", {"wagon": "a", "cup": "tea"}, ("a",)),
    (SeatId("a", "shot", "mug"), "a/shot in mug", {"wagon": "a", "cup": "shot", "seat": "mug"}, ("a",)),
    (StuckId("a"), "a/break-away", {"wagon": "a", "event": "break-away"}, ("a",)),
    (CouplingId(LOCO, A), "locomotive + a", {"front": "locomotive", "rear": "a"}, ("a",)),
    (CouplingId(A, B), "a + b/c + d", {"front": "a", "rear": "b/c + d"}, ("a", "b/c + d")),
    (ObstacleId("chair"), "chair", {"obstacle": "chair"}, ()),
    (ObstacleId("chair", A), "chair + a", {"obstacle": "chair", "vehicle": "a"}, ("a",)),
    (PassingId(), "two trains", {"track": "second"}, ()),
    (TrackPlanId("closing"), "closing", {"track_plan": "closing"}, ()),
    (TrackPartId("marker"), "track/marker", {"part": "marker", "of": "track"}, ()),
    (RampId("stop"), "stop", {"ramp": "stop"}, ()),
]


@pytest.mark.parametrize(("subject", "text", "about", "wagons"), WHO, ids=[text for _, text, *_ in WHO])
def test_a_subject_in_words_as_data_and_whom_it_concerns(subject, text, about, wagons):
    assert str(subject) == text and subject.about == about and subject.wagons == wagons
    assert [name for name in ("a", "b", "b/c", "d", "b/c + d", "locomotive", "chair") if subject.concerns(name)] == [
        name for name in ("a", "b/c + d") if name in wagons]
    record = judge("wall", subject, 1.25, 2.0, "min", "mm", "x").record()
    assert json.loads(json.dumps(record))["subject"] == text and record["about"] == about


def test_names_that_read_alike_are_told_apart():
    """A wagon may be called as the locomotive is, or as a part of another wagon."""
    assert WagonId("locomotive") != LOCO and str(WagonId("locomotive")) == str(LOCO)
    assert CouplingId(WagonId("locomotive"), A).concerns("locomotive") and not CouplingId(LOCO, A).concerns("locomotive")
    assert PartId("a", "lid") != WagonId("a/lid") and not PartId("a", "lid").concerns("a/lid")


def test_every_finding_of_a_train_names_a_struct():
    """An obstacle called as a wagon is that obstacle, and a wagon called as the locomotive is that wagon."""
    found = on_plan.run(resolve(load(DEMO)))
    assert all(isinstance(finding.subject, Subject) for finding in found) and len(found) > 60
    source = bare(track="plan = [{go = 'straight', length = 900}]\n"
                  "obstacle = [{name = 'locomotive', station = 300, side = 'left', distance = 70}]")
    found = on_plan.run(resolve(loads(source.replace('name = "one"', 'name = "locomotive"'))))
    subjects = {finding.check: finding.subject for finding in found}
    assert isinstance(subjects["obstacle"], ObstacleId)
    assert subjects["coupler-swing"] == CouplingId(LOCO, WagonId("locomotive"))
    concerned = {f.check for f in found if f.subject.concerns("locomotive")}
    assert "coupler-swing" in concerned and "adhesion" not in concerned
