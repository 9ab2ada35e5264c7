"""Remedies: every one that is printed is applied to the file as told, clears its finding and fails nothing that held.

`python tests/test_remedies.py FIRST LAST` tries more random trains, and what `mend` makes of them.
"""

import json
import sys
from collections import Counter
from pathlib import Path
from time import process_time

import numpy as np
import pytest
from conftest import bare
from msgspec.structs import replace
from plans import steps_of
from trains import random_description

from partgen.checks import wishes
from partgen.checks.on_plan import PLAN_CHECKS, every
from partgen.checks.on_plan import run as checked
from partgen.describe.edits import Edit, applied, edit_of, rewritten
from partgen.describe.lines import lines_of
from partgen.describe.load import examine, loads
from partgen.describe.toml_text import parsed
from partgen.errors import DescriptionError
from partgen.finding import Finding
from partgen.identity import PartId, RampId, WagonId
from partgen.paper.sizes import sizes
from partgen.plan.train import resolve
from partgen.remedies import levers, options
from partgen.remedies.mend import mend
from partgen.remedies.search import Tried, _farther, _known, _margin, _nearest, breaks, treated
from partgen.remedies.words import remedy_of
from partgen.remedies.workbench import Workbench, failing

SEEDS = range(100, 105)
SECONDS = 2.0           # of the processor for one train


def bench_of(text, seconds=SECONDS):
    return Workbench(parsed(text, "text"), Path(), lines_of(text), process_time() + seconds)


def fails(text):
    return failing(checked(resolve(loads(text))))


def untrue(text, finding):
    """Yield the remedies of a finding that do not keep their promise when a program applies them to the file."""
    before = failing(every(resolve(loads(text))))
    for remedy in json.loads(json.dumps(finding.record()))["remedies"]:
        edits = [Edit(steps_of(edit["path"]), edit["value"]) for edit in remedy["edits"]]
        after = fails(rewritten(text, edits))
        if (finding.check, finding.subject, 0) in after or after - before:
            yield remedy["text"], after - before


def tried_on(seed, seconds=SECONDS):
    """Return a random description near the limits and its failing findings with what was tried."""
    text = random_description(seed, near="limits")
    bench = bench_of(text, seconds)
    found = [one for one in bench.found(()) if one.verdict == "fail"]
    return text, [treated(bench, finding) for finding in found]


def test_no_change_is_told_of_what_only_the_drawn_part_shows():
    """The plan holds, so that each number would seem to clear it at its first step."""
    drawn = Finding("wall", PartId("one", "wheel"), "fail", 1.0, 1.3, "min", "mm", "1.0 mm of plastic")
    found = treated(bench_of(bare()), drawn)
    assert found.remedies == () and "without building" in found.nearest


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_printed_works(seed):
    text, found = tried_on(seed)
    assert [wrong for finding in found for wrong in untrue(text, finding)] == []
    assert all(finding.remedies or "tried" in finding.nearest for finding in found)


def test_a_remedy_that_does_not_work_is_seen():
    """The test above can fail: a remedy made up, and one that clears its finding and breaks another."""
    text = bare(wagon="wheelbase = 90").replace("wheelbase = 64\n", "")
    finding, = [treated(bench_of(text), one) for one in checked(resolve(loads(text))) if one.check == "wheelbase"]
    remedy = finding.remedies[0]
    assert not list(untrue(text, finding))
    other = type(finding)(**{**{name: getattr(finding, name) for name in finding.__struct_fields__}, "remedies": (
        type(remedy)((("wagon[1].wheelbase", 89.0),), "shorter"), type(remedy)((("wagon[1].wheelbase", 23.0),), "no"))})
    assert len(list(untrue(text, other))) == 2


FAST = 'modules = ["box"]\ncups = ["tea"]\n'


def test_what_is_not_asked_any_more_is_not_cleared():
    """A body too short for its load: the plan is refused, and that liquid climbs too high is not told any more."""
    text = bare(ride="[ride]\nspeed = 700", wagon=FAST)
    bench = bench_of(text)
    spilling, = [one for one in bench.found(()) if one.check == "spill-curve"]
    short = edit_of(bench.data, bench.train(()).description, ("wagon", 0, "length"), 75.0)
    assert spilling.verdict == "fail" and "spill-curve" not in {check for check, *_ in bench.fails((short,))}
    assert breaks(bench, spilling, (short,)) is None and _margin(bench, spilling, (short,), []) < 0
    gone = replace(spilling, check="ballast")       # there is none, whatever number is changed
    assert _margin(bench, gone, (replace(short, value=200.0),), []) < 0
    assert _margin(bench, gone, (replace(short, value=None),), []) > 0


def test_what_failed_untold_before_is_no_reason_against_a_remedy():
    text = bare(ride="[ride]\nspeed = 700", wagon=f"{FAST}length = 75")
    bench = bench_of(text)
    refused, *others = [one for one in bench.found(()) if one.verdict == "fail"]
    remedy = treated(bench, refused).remedies[0]
    assert not [one for one in others if one.check == "spill-curve"]
    assert "which shows what fails too: " in remedy.text and "spill-curve of one/tea" in remedy.text
    assert not list(untrue(text, treated(bench, refused)))


def test_nearest_is_nearer_by_what_it_says_and_fails_nothing_that_held():
    """Standing on a slope of 10 degrees: nothing that a maker would do is enough."""
    text = bare(ride="[ride]\nfloor_tilt = 10\njoint_step = 3", wagon='cups = ["tea"]')
    bench = bench_of(text, 60.0)
    finding, = [one for one in bench.found(()) if one.check == "tip-standing"]
    nearer = bench.found((edit := edit_of(bench.data, bench.train(()).description, ("ride", "floor_tilt"), 9.0),))
    share = next(one.share for one in nearer if one.check == "tip-standing")
    tried = Tried(nearer=[(finding.share + 0.005, ()), (share, (edit,)), (1.0, (replace(edit, value=-1.0),))])
    said = _nearest(bench, finding, tried)
    assert "9 deg (line 17, now 10)" in said
    then, now = (f"{-each * finding.limit:.3g}" for each in (share, finding.share))
    assert f"misses its limit by {then}, now by {now}" in said
    many = frozenset((check, WagonId("one"), 0) for check in ("grip", "bed", "twist"))
    assert _nearest(bench, finding, Tried(partly=[((edit,), many)])) == ""
    assert _nearest(bench, finding, Tried(partly=[((edit,), frozenset(list(many)[:1]))])).endswith("of one")


@pytest.mark.parametrize(("place", "value", "bound"), [
    (("train", "locomotive", "adhesion"), 0.2, 1.0), (("train", "locomotive", "adhesion"), 0.4, 1.0),
    (("ride", "floor_tilt"), 0.8, 0.2), (("ride", "joint_step"), 0.3, 0.1), (("cup", "tea", "fill"), 31.1, 15.6)])
def test_a_lever_reaches_as_far_whatever_it_stands_at(place, value, bound):
    """What can be made is told by the field, of a filling by how full a cup was; in figures that can be written."""
    text = rewritten(bare(wagon='cups = ["tea"]'), [Edit(place, value)])
    train = resolve(loads(text))
    way = "+" if bound > value else "-"
    lever, = levers._lever(way, place, train, train)
    assert lever.bound == bound and repr(lever.told(bound)) == repr(bound)


def test_the_least_change_is_found_and_told_with_what_it_costs():
    """A wheelbase of 90 on a curve of 320 mm: the check's own limit, to a tenth."""
    text = bare(wagon="wheelbase = 90").replace("wheelbase = 64\n", "")
    finding, = [treated(bench_of(text), one) for one in checked(resolve(loads(text))) if one.check == "wheelbase"]
    (path, value), = finding.remedies[0].edits
    assert path == "wagon[1].wheelbase" and 0 <= finding.limit - value < 0.1
    assert finding.remedies[0].text.startswith(f"set wheelbase of wagon one to {value:g} mm (line 31, now 90): ")


@pytest.mark.parametrize(("gap", "closes"), [(60.0, True), (None, False)])
def test_a_plan_that_does_not_close_is_given_the_lengths_of_two_straights(gap, closes):
    """An oval of two straights each way, one of them too long: both ways are made good; a bare half circle is not."""
    straight = '{ go = "straight", length = %g }'
    turn = '{ go = "left", radius = 320, angle = 90 }'
    sides = (300, 200, 300 + (gap or 0), 200 - (gap or 0) / 3)
    plan = [piece for side in sides for piece in (straight % side, turn)] if closes else [turn.replace("90", "180")]
    text = bare(track=f"plan = [{', '.join(plan)}]\nclosed = true")
    finding, = [treated(bench_of(text), one) for one in checked(resolve(loads(text)))
                if one.check == "track-plan" and one.verdict == "fail"]
    assert bool(finding.remedies) == closes and not list(untrue(text, finding))


def test_something_may_be_changed_for_every_check():
    """Of a plan's checks and of what a plan falls short in."""
    short = {check for check, *_ in wishes.KINDS.values()}
    assert {*PLAN_CHECKS, *short} - {*levers.LEVERS, *options.OPTIONS} == set()


@pytest.mark.parametrize("fill", [50, 55])
def test_a_cup_filled_over_its_reserve_is_given_the_filling_that_holds(fill):
    """Its limit passes through 0 on the way there; from below it is the same."""
    text = bare(ride="[ride]\nspeed = 400", wagon='cups = ["tea"]').replace("fill = 40", f"fill = {fill}")
    bench = bench_of(text, 20.0)
    for finding in [one for one in bench.found(()) if one.verdict == "fail" and one.check.startswith("spill")]:
        values = [value for remedy in treated(bench, finding).remedies for path, value in remedy.edits
                  if path == "cup.tea.fill"]
        for more, spills in ((0.0, False), (0.5, True)):
            after = fails(rewritten(text, [Edit(("cup", "tea", "fill"), values[0] + more)]))
            assert ((finding.check, finding.subject, 0) in after) == spills


@pytest.mark.parametrize(("now", "way", "held", "least"), [
    (41.0, -1, (38.0, 40.4), 40.4), (50.0, -1, (20.0, 31.0), 31.0), (10.0, 1, (30.0, 90.0), 30.0),
    (10.0, 1, (1.0, 2.0), None)])
def test_where_the_least_change_breaks_something_the_least_that_does_not_is_found(now, way, held, least):
    lever = levers.Lever(("cup", "tea", "fill"), now, 0.0 if way < 0 else 100.0, 0.1)
    def breaking(value):
        return frozenset() if held[0] <= value <= held[1] else frozenset({("spill-stop", RampId("start"), 0)})
    assert _farther(lever, now + way * 0.1, lambda value: 1.0, breaking) == (pytest.approx(least) if least else None)
    assert _farther(lever, held[0], lambda value: 1.0, breaking) is None


def test_what_was_found_for_one_finding_is_offered_to_each_that_it_clears():
    """Two wagons too long between their axles: wider curves clear both."""
    text = bare(wagon="wheelbase = 90\n[[wagon]]\nname = 'two'\nwheelbase = 90").replace("wheelbase = 64\n", "")
    bench = bench_of(text, 20.0)
    one, two = [each for each in bench.found(()) if each.check == "wheelbase"]
    assert one.verdict == two.verdict == "fail"
    edits = (edit_of(bench.data, bench.train(()).description, ("track", "min_radius"), 800.0),)
    assert breaks(bench, one, edits) == breaks(bench, two, edits) == frozenset()
    assert [remedy.edits for remedy in _known(bench, two, [(), edits])] == [(("track.min_radius", 800.0),)]


PAIR = """
[module.eye]
length = 20
width = 12
height = 8
mass = 4
looks_out = [{ side = "bottom", width = 6, height = 6 }]
[module.lamp]
length = 9
width = 9
height = 5
mass = 3
"""


def test_with_a_module_that_is_left_out_goes_what_its_wagon_says_of_it_alone():
    """The sensor's cable, place and station; the box's cable, while the sensor keeps the rest."""
    text = bare(module=PAIR, wagon='modules = ["box", "eye"]\nwires = [["box", "eye"]]\nat = [["eye", "middle"]]\n'
                                   'sensor_station = 0.0')
    train, data = resolve(loads(text)), parsed(text, "text")
    eye, box = [], []
    for move in options.one_module_less(Finding("module-fit", WagonId("one"), "fail", 0.0, 1.0, "min", "mm"), train):
        edits = [edit_of(data, train.description, steps, value) for steps, value in move]
        wagon, = loads(rewritten(text, edits)).wagon
        (box if "eye" in wagon.modules else eye).append((wagon.wires, wagon.at, wagon.sensor_station))
        with pytest.raises(DescriptionError):
            loads(rewritten(text, edits[:1]))
    assert eye == [((), (), None)] and box == [((), (("eye", "middle"),), 0.0)]


def test_wheels_make_way_before_a_sensor_is_thrown_out():
    """What binds is named; and a train that is left without it says so."""
    text = bare(module=PAIR, wagon='modules = ["eye"]\nlength = 130').replace("wheelbase = 64", "wheelbase = 44")
    bench = bench_of(text, 20.0)
    finding, = [treated(bench, one, 1) for one in bench.found(()) if one.verdict == "fail"]
    assert finding.check == "module-fit" and "over the track, which wheelbase and " in finding.reason
    assert finding.remedies[0].edits[0][0] == "wagon[1].travel"
    gone = (edit_of(bench.data, bench.train(()).description, ("wagon", 0, "modules"), ()),)
    assert "the train then has no eye" in remedy_of(bench, gone).text


def test_what_wires_join_moves_together_and_no_wire_is_cut():
    """Lamp by itself, eye and box only with each other, their cable and place with them; nor is the box left out of
    three in a row."""
    text = bare(module=PAIR, wagon='modules = ["box", "lamp", "eye"]\nwires = [["box", "eye"]]\n'
                                   'at = [["eye", "middle"]]\n[[wagon]]\nname = "two"\nwheelbase = 64')
    train, data = resolve(loads(text)), parsed(text, "text")
    found = set()
    for move in options.other_wagon(Finding("outer-throw", WagonId("one"), "fail", 1.0, 0.0, "max", "mm"), train):
        first, second = loads(rewritten(text, [edit_of(data, train.description, *one) for one in move])).wagon
        assert first.wires + second.wires == (("box", "eye"),) and first.at + second.at == (("eye", "middle"),)
        found.add(second.modules)
    assert found == {("box", "eye"), ("lamp",)}
    row = resolve(loads(text.replace('wires = [["box", "eye"]]', 'wires = [["box", "eye"], ["box", "lamp"]]')))
    less = options.one_module_less(Finding("module-fit", WagonId("one"), "fail", 0.0, 1.0, "min", "mm"), row)
    assert {dict(move)["wagon", 0, "modules"] for move in less} == {("box", "lamp"), ("box", "eye")}


@pytest.mark.parametrize("order", ["", 'order = ["one", "last"]'])
def test_two_wagons_of_one_carry_all_that_it_carried(order):
    """In the file and in data alike; behind it where the train has an order; what joins two modules stays with both."""
    text = bare(module=PAIR,
                wagon='modules = ["box", "lamp", "eye"]\nwires = [["box", "eye"]]\nat = [["lamp", "middle"]]\n'
                      'lights = "lamps"\nlength = 130\ncups = ["tea", "tea", "tea"]\n'
                      '[[wagon]]\nname = "last"\nwheelbase = 64') + f"[train]\n{order}\n"
    train, data = resolve(loads(text)), parsed(text, "text")
    found = []
    for move in options.split(Finding("bed", WagonId("one"), "fail", 1.0, 0.0, "max", "mm"), train):
        edits = [edit_of(data, train.description, steps, value) for steps, value in move]
        described = loads(rewritten(text, edits))
        assert examine(applied(data, edits))[0] == described
        first, _, new = described.wagon
        assert (new.name, new.wheelbase, new.length) == ("one 2", 64, None)
        assert described.train.order == (("one", "one 2", "last") if order else ())
        assert sorted(first.cups + new.cups) == ["tea"] * 3
        assert sorted(first.modules + new.modules) == ["box", "eye", "lamp"] and first.wires == (("box", "eye"),)
        found.append((len(new.cups), new.modules, new.at))
    assert found == [(1, (), ()), (3, (), ()), (0, ("lamp",), (("lamp", "middle"),))]


def test_what_a_remedy_costs_is_told_in_length_filament_and_hours():
    """A wider body, as its plan and `check` tell its sizes before and after."""
    text = bare(module="", wagon='modules = ["box", "box"]\nlength = 100')
    bench = bench_of(text, 60.0)
    [refused] = [one for one in bench.found(()) if one.verdict == "fail"]
    for remedy in treated(bench, refused).remedies:
        after = resolve(loads(rewritten(text, [Edit(steps_of(path), value) for path, value in remedy.edits])))
        old, new = ([(one.outside[0], one.filament, one.hours) for one in sizes(train)]
                    for train in (resolve(loads(text)), after))
        told = remedy.costs.length, remedy.costs.filament, remedy.costs.hours
        assert told == pytest.approx(np.sum(new, axis=0) - np.sum(old, axis=0), abs=0.051)
        assert any(told)


if __name__ == "__main__":
    met, without = Counter(), Counter()
    for number in range(int(sys.argv[1]), int(sys.argv[2])):
        source, told = tried_on(number, 15.0)
        for one in told:
            met["findings"] += 1
            met["with a remedy"] += bool(one.remedies)
            met["remedies"] += len(one.remedies)
            without[one.check] += not one.remedies
            for breach in untrue(source, one):
                met["untrue"] += 1
                print(number, one.check, one.subject, breach)
        if told:
            after = mend(bench_of(source, 60.0))
            met["trains"] += 1
            met["mended"] += after.holds
            if not after.holds:
                print(number, [(one.check, str(one.subject), one.value, one.limit) for one in after.left], flush=True)
    print(dict(met), without)
