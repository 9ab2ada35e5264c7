"""Who is meant: what a finding's subject says, tells as data, and concerns; and what names become in files' names."""

import json
import re
from pathlib import PureWindowsPath

import pytest
from conftest import DEMO, bare, described
from hypothesis import given, settings
from hypothesis import strategies as st
from names import NAMES, named

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
    stem,
    stems,
    title_stem,
)
from partgen.paper.filenames import part_files, wagon_stems
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
    """A wagon may be called as a part of another wagon."""
    assert WagonId("locomotive") != LOCO and str(WagonId("locomotive")) == str(LOCO)
    assert CouplingId(WagonId("locomotive"), A).concerns("locomotive")
    assert not CouplingId(LOCO, A).concerns("locomotive")
    assert PartId("a", "lid") != WagonId("a/lid") and not PartId("a", "lid").concerns("a/lid")


def test_every_finding_of_a_train_names_a_struct():
    """An obstacle called as a wagon is that obstacle."""
    found = on_plan.run(resolve(load(DEMO)))
    assert all(isinstance(finding.subject, Subject) for finding in found) and len(found) > 60
    source = bare(track="plan = [{go = 'straight', length = 900}]\n"
                  "obstacle = [{name = 'one', station = 300, side = 'left', distance = 70}]")
    found = on_plan.run(resolve(loads(source)))
    subjects = {finding.check: finding.subject for finding in found}
    assert isinstance(subjects["obstacle"], ObstacleId)
    assert subjects["coupler-swing"] == CouplingId(LOCO, WagonId("one"))
    concerned = {f.check for f in found if f.subject.concerns("one")}
    assert "coupler-swing" in concerned and not {"obstacle", "adhesion"} & concerned


# ---- from names to files' names


@pytest.mark.parametrize(("name", "spelt"), [
    ("Tür", "tur"), ("Größe 2", "grosse-2"), ("вагон", "vagon"), ("Ωμέγα", "omega"), ("  a_b--c. ", "a-b-c"),
    ("Ærø", "aero"), ("\u0301", "wagon"), ("...", "wagon"), ("a" * 300, f"{'a' * 40}-{'a' * 19}"),
    (f"{'a' * 39} {'b' * 300} {'c' * 18}", f"{'a' * 39}-{'c' * 18}"),
    ("装" * 20 + "7", f"{'zhuang' * 6}zhua-{'zhuang' * 3}7")])
def test_a_name_is_spelt_so_that_it_can_be_read(name, spelt):
    """Latin spellings are common practice, no source."""
    assert stem(name, "wagon") == spelt


def test_names_that_would_share_a_stem_are_numbered():
    assert stems(["Tür", "Tor", "Tör", "tür"], "wagon") == {"Tür": "tur", "Tor": "tor", "Tör": "tor-2", "tür": "tur-2"}
    # a name that is its own stem keeps it, wherever it stands
    assert list(stems(["Tür", "TUR", "tur", "tur 2"], "x").values()) == ["tur-2", "tur-3", "tur", "tur-2-2"]
    assert list(stems(["Con", "nul", "lpt7", "come"], "x").values()) == ["con-2", "nul-2", "lpt7-2", "come"]
    long = stems(["x" * 299 + end for end in "abc"], "x")
    assert list(long.values()) == [f"{'x' * 40}-{'x' * 18}{end}" for end in "abc"]
    middles = stems(["x" * 60 + one + "x" * 60 for one in "abc"], "x")
    assert list(middles.values()) == [f"{'x' * 40}-{'x' * 19}{end}" for end in ("", "-2", "-3")]
    # "a" would have its picture a-apart beside the one of "a apart"
    assert stems(["a", "a apart"], "x", ("", "-apart")) == {"a": "a", "a apart": "a-apart-2"}
    assert stems(["train", "b"], "x", taken=("train",)) == {"train": "train-2", "b": "b"}


ALIKE = st.text(st.sampled_from("aAäÄábB -_.,'вВб茶çс\u0301\u200d8٨"), min_size=1, max_size=6)


@given(st.lists(st.one_of(ALIKE, st.text(min_size=1, max_size=400)), unique=True, max_size=40))
@settings(max_examples=300, deadline=None)
def test_stems_are_safe_and_no_two_alike(names):
    """Names of files that every system takes: POSIX's portable set in lower case, no device of another system's, and
    no two that differ in case alone (some file systems hold those for one)."""
    found = stems(names, "wagon", ("", "-apart"), ("train",))
    assert list(found) == names
    files = [stem + end for stem in found.values() for end in ("", "-apart")]
    assert len({file.casefold() for file in (*files, "train")}) == 2 * len(names) + 1
    for file in files:
        assert re.fullmatch("[a-z0-9]+(-[a-z0-9]+)*", file) and len(file) < 80
        assert not PureWindowsPath(f"{file}.stl").is_reserved()


def test_every_title_has_a_folder_of_its_own():
    assert title_stem("Reading-room tea line") == "reading-room-tea-line" and title_stem("My train") == "my-train"
    unlike = ["Tea line", "Tea, line", "Tea  line", "Téa line", "Tea_line", "Tea line ", "Чай", "Вода", "茶", "水",
              "Con", "con-2", "x" * 59 + "é", "x" * 59 + "è", "!a", "a"]
    assert len({title_stem(title) for title in unlike}) == len(unlike)
    assert title_stem("Чай").startswith("chay-") and title_stem("\u0301").startswith("train-")
    assert all(re.fullmatch("[a-z0-9]+(-[a-z0-9]+)*", title_stem(t)) and len(title_stem(t)) <= 60 for t in unlike)
    assert title_stem("Con") != "con" and title_stem("Tea line") == title_stem("tea-line") == "tea-line"
    assert len({"tea-line", title_stem("Tea line", alone=False), title_stem("tea-line", alone=False)}) == 3


def test_no_two_files_of_a_train_are_called_alike():
    train = resolve(loads(named(first="cups = ['tea']")))
    beginnings = wagon_stems(train.description)
    pictures = [beginnings[name] + end for name in NAMES for end in ("", "-apart", "-inside", "-layout")]
    pictures += ["train", "track", "step-01", "slosh-1-tea", "nearest-pair", "print-poses"]
    assert len(set(pictures)) == 4 * len(NAMES) + 6 and beginnings["вагон"] == "vagon" and beginnings["Tör"] == "tor-2"
    files = part_files(train)
    users = [(plan.name, item.name) for both in files.values() for plan, item in both]
    assert sorted(users) == sorted((plan.name, item.name) for plan in train.printed for item in plan.items)
    assert sum(stem.endswith("body") for stem in files) == len(NAMES) and "vagon-body" in files
    assert all(len({item.plan for _, item in both}) == 1 for both in files.values())
    assert all(len(stem) < 140 for stem in files)


def test_a_file_that_many_share_names_the_first_and_counts_the_others():
    wagons = "".join(f"\n[[wagon]]\nname = 'number {place}'\nwheelbase = 62\nlength = {130 if place else 140}\n"
                     for place in range(12))
    files = part_files(resolve(loads(bare().split("[[wagon]]")[0] + wagons)))
    assert {stem for stem in files if stem.endswith("body")} == {"number-0-body", "number-1-and-10-more-body"}
    assert len(files["number-1-and-10-more-body"]) == 11


def test_a_file_of_one_wagon_with_a_long_name_is_called_after_it_alone():
    """Names that differ in a last figure keep it, whatever their letters grow to in Latin ones."""
    names = [f"{'装' * 20}{place}" for place in range(8)] + [f"{'装' * 10}{sign}{'装' * 10}" for sign in "一二"]
    beginnings = wagon_stems(loads(named(names)))
    assert all(beginnings[name].endswith(name[-1]) for name in names[:8])
    files = [stem for stem in part_files(resolve(loads(named(names)))) if stem.endswith("body")]
    assert sorted(files) == sorted(f"{beginnings[name]}-body" for name in names)


def test_inserts_of_cups_with_like_names_are_told_apart():
    """Two cups, Shot and shot, in one wagon's mugs."""
    cups = "".join(f"[cup.{name}]\nmass = 40\nprofile = [[0, {wide}], [60, {wide}]]\n"
                   for name, wide in (("mug", 80), ("Shot", 50), ("shot", 52)))
    train = resolve(described(wagon="cups = ['mug', 'mug']\ninserts = ['Shot', 'shot']", cup=cups))
    assert sorted(item.name for item in train.wagons[0].items if item.part == "insert") == [
        "insert-shot-in-mug", "insert-shot-in-mug-2"]
