"""`mend`: a series of changes after which every check holds, or how far it got."""

import json

import pytest
from conftest import DEMO, bare
from msgspec.structs import replace
from test_remedies import bench_of, fails

from partgen.describe.edits import Edit, rewritten
from partgen.finding import Finding
from partgen.identity import WagonId
from partgen.remedies import levers, options
from partgen.remedies.mend import Mended, _mends, _needed, _unpoured, mend
from partgen.remedies.search import candidates, treated
from partgen.remedies.words import said
from partgen.remedies.workbench import failing


def test_mend_brings_a_wagon_from_first_draft_to_all_holding(run, tmp_path):
    """Too long between the axles, too full and too fast; the file's byte-order mark, comment and link stay."""
    file, link = tmp_path / "line.toml", tmp_path / "link.toml"
    text = bare(ride="[ride]\nspeed = 700", wagon='cups = ["tea"]\nwheelbase = 95  # first try').replace(
        "wheelbase = 64\n", "")
    file.write_bytes(b"\xef\xbb\xbf" + text.encode())
    link.symlink_to(file)
    answer = run("mend", link, "--json", "--write")
    told = json.loads(answer.stdout)
    assert answer.exit_code == 0 and told["holds"] and told["left"] == []
    assert {"wagon[1].wheelbase"} <= {edit["path"] for edit in told["edits"]}
    assert all(edit["why"] and edit["value"] != edit["was"] for edit in told["edits"])
    assert file.read_bytes().startswith(b"\xef\xbb\xbf") and "# first try" in file.read_text("utf-8-sig")
    assert link.is_symlink() and run("check", link).exit_code == 0
    again = run("mend", link)
    assert again.exit_code == 0 and "nothing to mend" in again.stdout


def test_mend_says_how_far_it_got(run, tmp_path):
    """No printer has a bed for this body, which is as long as its module."""
    file = tmp_path / "line.toml"
    file.write_text(bare(module="", wagon='modules = ["box"]').replace("length = 60", "length = 390"))
    answer = run("mend", file, "--seconds", 3)
    assert answer.exit_code == 1 and "still fail" in answer.stdout


def test_no_wagon_is_emptied_and_numbers_go_back_as_far_as_they_may(tmp_path, run):
    """Two full glasses too many for the bed: one may go, and no edit is larger than it need be."""
    text = bare(ride="[ride]\nspeed = 500", wagon='cups = ["tea", "tea"]')
    found = mend(bench := bench_of(text, 60.0))
    assert found.holds and all(wagon.cups for wagon in bench.train(found.edits).description.wagon)
    for place, one in enumerate(found.edits):
        if isinstance(one.value, float):
            way = 1 if one.value > one.was else -1
            for lever in levers.lever_at(one.steps, one.value, bench.train(())):
                back = replace(one, value=lever.told(one.value - 2 * way * lever.fine))
                assert bench.fails((*found.edits[:place], back, *found.edits[place + 1:])), one
    file = tmp_path / "line.toml"
    file.write_text(text)
    assert json.loads(run("mend", file, "--json").stdout)["holds"]


@pytest.mark.parametrize("more", [(20.0, 0.0), (0.0, -15.0), (12.0, 7.0)])
def test_a_ring_short_by_a_straight_is_given_its_length(more):
    """Two straights and four quarter circles, opposite sides of unlike length: one side or two change."""
    sides = 300.0, 200.0, 300.0 + more[0], 200.0 + more[1]
    corner = '{ go = "left", radius = 320, angle = 90 }'
    plan = "".join(f'{{ go = "straight", length = {side} }}, {corner}, ' for side in sides)
    bench = bench_of(bare(track=f"plan = [{plan}]\nclosed = true\n"), 60.0)
    finding = next(one for one in bench.found(()) if one.check == "track-plan" and one.verdict == "fail")
    remedy, = treated(bench, finding, 1).remedies
    assert len(remedy.edits) == sum(map(bool, more))


def test_the_demo_needs_no_mending(run):
    assert run("mend", DEMO).exit_code == 0


def test_a_fact_that_nobody_measured_is_told_in_check_and_by_mend_where_nothing_else_helps():
    """The flange's angle, taken for the worse: from some value on it holds, if it measures so."""
    text = bare(wagon='cups = ["tea"]').replace("flange_angle = 90\n", "")
    pulled = text.replace("[[wagon]]", "[ride]\nstart_time = 0.2\nramp = 'even'\n[[wagon]]", 1)
    for seed in range(4):
        pulled += f'[[wagon]]\nname = "more {seed}"\nwheelbase = 64\ncups = ["tea"]\n'
    bench = bench_of(pulled, 60.0)
    finding = min((one for one in bench.found(()) if one.check == "string-line"), key=lambda one: one.value)
    assert finding.verdict == "fail"
    angles = [edits for edits in candidates(bench, finding) if edits[-1].steps[-1] == "flange_angle"]
    assert angles and all(60 < edits[-1].value <= 90 for edits in angles)
    assert "if it measures so" in said(bench, angles[0][0])
    assert not [edits for edits in candidates(bench, finding, partly=True, facts=False)
                if edits[-1].steps[-1] == "flange_angle"]


def test_what_only_a_measurement_mends_is_told_and_never_written(run, tmp_path):
    """Wheels too large for any wheelbase that a curve lets turn at the worst flange: measured, it may be better."""
    file = tmp_path / "line.toml"
    file.write_text(bare(wheelset="flange_diameter = 28.6\ntread_diameter = 26.6\nback_to_back = 31.9").replace(
        "flange_angle = 90\n", ""))
    told = run("mend", file, "--write")
    assert told.exit_code == 1 and "if it measures so" in told.stdout and "measure it first" in told.stdout
    assert "flange_angle" not in file.read_text() and "wheelbase = 50" in file.read_text()
    edit, = json.loads(run("mend", file, "--json").stdout)["edits"]
    assert edit["to_measure"] and edit["path"] == "wheelset.standard.flange_angle"
    file.write_text(file.read_text().replace("back_to_back", f"flange_angle = {edit['value']}\nback_to_back"))
    assert run("check", file).exit_code == 0


def test_a_track_is_not_taken_for_level_before_it_is():
    """Its joints are told and held back, while a shorter wheelbase is written."""
    draft = Finding("tip-standing", WagonId("one"), "fail", 1.0, 1.5, "min", "1")
    level, shorter = Edit(("ride", "joint_step"), 0.1, 0.3), Edit(("wagon", 0, "wheelbase"), 60.0, 64.0)
    found = Mended((level, shorter), (("a of b",), ("a of b",)), (draft,))
    assert found.facts == (level,) and found.choices == (shorter,)
    assert "until they measure so" in said(bench_of(bare()), level)


def test_a_change_names_what_it_mends_in_the_draft():
    """Too long between the axles and too full: each change its own finding; one that mends nothing what it was for."""
    text = bare(ride="[ride]\nspeed = 520", wagon='cups = ["tea"]\nwheelbase = 95').replace("wheelbase = 64\n", "")
    bench = bench_of(text, 60.0)
    edits = Edit(("cup", "tea", "fill"), 25.0, 40.0), Edit(("wagon", 0, "wheelbase"), 60.0, 95.0)
    other = Finding("grip", WagonId("one"), "fail", 1.0, 2.0, "min", "mm")
    drink, base = (_mends(bench, edits, one, other) for one in edits)
    assert {"spill-stop of one/tea"} <= {*drink} and "wheelbase of one" in base and not {*drink} & {*base}
    idle = Edit(("ride", "stop_time"), 1.1, 1.0)
    assert _mends(bench, (*edits, idle), idle, other) == ("grip of one",)


def test_what_is_free_is_told_before_what_is_bought():
    """Weak single magnets: two of them side by side are a choice, stronger ones a purchase."""
    text = rewritten(bare(wagon='cups = ["tea"]\nballast = 40'), [
        Edit(("coupler", "remanence"), 0.57), Edit(("coupler", "layout"), "single")])
    bench = bench_of(text, 60.0)
    finding = next(one for one in bench.found(()) if one.check == "coupler-pull" and one.verdict == "fail")
    for partly in (False, True):
        found = [edits[-1].path for edits in candidates(bench, finding, partly=partly)]
        assert 0 <= found.index("coupler.layout") < found.index("coupler.remanence")
    first, *_, last = [one.text for one in treated(bench, finding, 9).remedies]
    assert "buying" in last and "buying" not in first


def test_what_is_taken_off_one_wagon_is_set_on_another():
    """Each half alone fails nothing more: a cup that is only taken off would be lost."""
    text = bare(wagon='cups = ["tea"]\nmodules = ["box"]') + '[[wagon]]\nname = "two"\nwheelbase = 64\ncups = ["tea"]\n'
    moved = Edit(("wagon", 0, "cups"), (), ("tea",)), Edit(("wagon", 1, "cups"), ("tea", "tea"), ("tea",))
    bench = bench_of(text, 60.0)
    assert _needed(bench, moved) == moved
    finding = Finding("tip-standing", WagonId("one"), "fail", 0.5, 1.0, "min", "1")
    assert [dict(move) for move in options.other_deck(finding, bench.train(()))] == [
        {("wagon", 0, "cups"): (), ("wagon", 1, "cups"): ("tea", "tea")}]


def test_no_drink_is_given_up_for_what_ballast_mends():
    """Only for what spills, and no more than that takes."""
    def poured(value):
        return Edit(("cup", "tea", "fill"), value),
    loaded, before = (Edit(("wagon", 0, "ballast"), 60.0),), ()
    after = [(loaded, ()), (poured(30.0), ()), (poured(25.0), ())]
    for check, kept in (("string-line", [loaded]), ("spill-stop", [loaded, poured(30.0)])):
        finding = Finding(check, WagonId("one"), "fail", 2.0, 1.0, "max", "1")
        assert [edits for edits, _ in _unpoured(finding, before, after)] == kept


def test_mend_keeps_the_speed_where_a_little_less_in_the_cups_does():
    """Too fast for curves and stops: half as fast would do for both, or a quarter less in the cups."""
    text = bare(ride="[ride]\nspeed = 520", wagon='cups = ["tea"]')
    bench = bench_of(text, 60.0)
    found = mend(bench)
    paths = {one.path: one.value for one in found.edits}
    assert found.holds and paths.keys() == {"cup.tea.fill"}


def test_of_two_findings_alike_the_second_counts():
    """One screw too short where two were: what begins to fail beside what fails already is broken, too."""
    one, other = (Finding("grip", WagonId("one"), verdict, 1.0, 2.0, "min", "mm") for verdict in ("fail", "pass"))
    assert len(failing([one, one])) == 2 and failing([one, one]) - failing([one, other]) != set()
    assert failing([one, other]) == failing([other, one])


def test_one_cause_is_one_finding():
    """A body far too short for its module fails as refused; what follows from that is not told."""
    text = bare(module="", wagon='modules = ["box"]\nlength = 140\nwidth = 30')
    assert {check for check, *_ in fails(text)} == {"module-fit"}
