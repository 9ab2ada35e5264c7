"""Plans that cannot be laid are refused with what to change; plans that can be are let through."""

import json

import pytest
from conftest import bare, described

from partgen.checks.track import track_plan
from partgen.errors import DescriptionError
from partgen.plan.train import resolve


def judged(plan, closed=False):
    description = described(track=f"plan = [{plan}]\nclosed = {str(closed).lower()}")
    return {str(finding.subject): finding for finding in track_plan(resolve(description))}


def test_third_pass_through_one_place_is_refused():
    """A three-quarter turn leads square across the way it came; a second loop, at 45 degrees, through the same place.

    Worked by hand: the first crossing lies 320 mm from the start, 320 (1 + 2 sin 45) mm beyond it the loop begins.
    """
    level = "{go = 'straight', length = 260}, {go = 'crossing', length = 120, angle = 90, gap = 4}"
    loop = (f"{level}, {{go = 'straight', length = 260}}, {{go = 'left', radius = 320, angle = 270}}, {level}, "
            "{go = 'straight', length = 712.55}")
    once = judged(loop)
    assert once["crossings"].value == 2 and {finding.verdict for finding in once.values()} == {"pass"}
    again = "{go = 'left', radius = 320, angle = 225}, {go = 'straight', length = 1500}"
    found = judged(f"{loop}, {again}")["crossings"]
    assert found.value == 3 and found.verdict == "fail" and "3 times through one place" in found.reason


def test_track_along_track_is_refused_and_apart_is_not():
    """Out by 60 degrees, round by 300 and back by 60 leads onto the way out; a half circle two radii beside it."""
    loop = ("{go = 'straight', length = 300}, {go = 'right', radius = 320, angle = 60}, "
            "{go = 'left', radius = 320, angle = 300}, {go = 'right', radius = 320, angle = 60}, "
            "{go = 'straight', length = 300}")
    found = judged(loop)["side by side"]
    assert found.verdict == "fail" and "the 43.5 mm that a track" in found.reason   # gauge, two rail heads and 1 mm
    half = "{go = 'straight', length = 300}, {go = 'left', radius = 320, angle = 180}, {go = 'straight', length = 300}"
    assert judged(half)["side by side"].verdict == "pass"


def test_plan_that_does_not_close_says_by_how_much():
    """Half a circle of 320 mm ends two radii from its start."""
    found = judged("{go = 'left', radius = 320, angle = 180}", closed=True)["closing"]
    assert found.verdict == "fail" and found.value == pytest.approx(640, abs=1e-6)
    assert judged("{go = 'left', radius = 320, angle = 45, times = 8}", closed=True)["closing"].verdict == "pass"


@pytest.mark.parametrize("plan, field, cure", [
    ("{go = 'left', radius = 0, angle = 90}", "track.plan[1].radius", "60 to 100000 mm"),
    ("{go = 'left', radius = -320, angle = 90}", "track.plan[1].radius", "60 to 100000 mm"),
    ("{go = 'left', radius = 61, angle = 90}", "track.plan[1].radius", "min_radius"),
    ("{go = 'straight', length = 100, times = 100000}", "track.plan[1].times", "1 to 500"),
    (",\n".join(["{go = 'straight', length = 100, times = 500}"] * 200), "track.plan", "at most 2000"),
])
def test_plans_out_of_range_are_faults(plan, field, cure):
    with pytest.raises(DescriptionError) as raised:
        described(track=f"plan = [{plan}]")
    assert field in str(raised.value) and cure in str(raised.value)


def test_curve_tighter_than_the_gauge_is_a_fault(run, tmp_path):
    file = tmp_path / "tight.toml"
    file.write_text(bare(track="min_radius = 70\nplan = [{go = 'left', radius = 70, angle = 90}]"))
    result = run("check", file)
    assert result.exit_code == 2 and "2.5 gauges" in result.stderr


def test_hundred_thousand_pieces_are_refused_at_once(run, tmp_path):
    file = tmp_path / "long.toml"
    file.write_text(bare(track="plan = [" + "{go='straight',length=50},\n" * 100_000 + "]"))
    result = run("check", file)
    assert result.exit_code == 2 and "at most 1 MB" in result.stderr


def test_check_names_what_cannot_be_laid(run, tmp_path):
    file = tmp_path / "knot.toml"
    file.write_text(bare(track="plan = [{go = 'left', radius = 320, angle = 120, times = 6}]"))
    result = run("check", file, "--json")
    failed = {f["subject"] for f in json.loads(result.stdout)["findings"] if f["verdict"] == "fail"}
    assert result.exit_code == 1 and "side by side" in failed
