"""`check`, `ride --json` and the ride card never disagree: random trains run at the speeds that the ride prints and
filled to the marks that the card draws pass the checks, and a little beyond they fail them.

`python tests/test_agreement.py FIRST LAST` tries more of them.
"""

import sys
from collections import Counter
from math import ceil

import pytest
from trains import random_description

from partgen.checks.on_plan import SIZES, run
from partgen.cli.ride_tables import record
from partgen.describe.load import loads
from partgen.dynamics import ride as rides
from partgen.dynamics.laps import poured, room_of
from partgen.dynamics.questions import QUESTIONS, unheld
from partgen.dynamics.ramps import LONGEST, ramps_of
from partgen.dynamics.search import filled, ridden
from partgen.identity import RampId, StuckId
from partgen.plan.train import resolve

TRAINS, BATCH = 120, 10
TIPS, SPILLS = {"tip-curve", "tip-stop", "tip-standing", "cup-hold"}, {"spill-curve", "spill-stop"}
DERAILS = TIPS | {"string-line"}
ALL = DERAILS | SPILLS
BEYOND = 1.03
SLOWEST, FASTEST = 10.0, 3000.0         # mm/s that a description may ask for
SHALLOW = 3.4                           # mm; marks are in tenths, and one of those is over 3 % of less


def failing(train, only=QUESTIONS):
    """What `check` fails of all that has to do with the ride; who is stuck is not moved by it, nor is what the plan
    refuses."""
    return {(found.check, found.subject) for found in run(train, only=set(only))
            if found.verdict == "fail" and found.check in only and not isinstance(found.subject, StuckId)}


def asked(train):
    """What does not hold of the ride's questions, of wagons that the plan does not refuse."""
    refused = [plan.name for plan in train.wagons if any(one.kind in SIZES for one in plan.wanting)]
    return frozenset((name, who) for name, who in unheld(train, QUESTIONS) if not any(map(who.concerns, refused)))


def disagreements(train, told=None):
    """Yield in words where check, ride and card contradict each other."""
    ride, now = rides.resolve(train), failing(train)
    said = record(ride) if told is None else told
    if now != asked(train):
        yield f"check and the questions of the ride: {now ^ asked(train)}"
    if said["curves"]:
        yield from _speeds(train, said["curves"][0])
    if ride.cups:
        yield from _marks(train, ride, said, now)
    yield from _faults(train, ride, now)
    yield from _ramps(train)


def _speeds(train, sharpest):
    """At the speeds printed for the sharpest curve the checks pass, but for what fails at a crawl; 3 % over they
    fail."""
    crawl = failing(ridden(train, speed=SLOWEST))
    tip, spill = (FASTEST if sharpest[limit] is None else sharpest[limit] for limit in ("tip_mm_s", "spill_mm_s"))
    if sharpest["speed_mm_s"] > min(train.description.ride.speed, tip, spill):
        yield "it runs faster than either limit"
    for speed, checks in ((tip, DERAILS), (spill, SPILLS)):
        if SLOWEST <= speed <= FASTEST / BEYOND:
            if wrong := failing(ridden(train, speed=speed), checks) - crawl:
                yield f"at {speed} mm/s: {wrong}"
            # Farther beyond the liquids may ask for a ramp so long that nothing tips on it any more: that fails, too.
            if not (unheld(ridden(train, speed=BEYOND * speed), ALL) - crawl
                    and any(unheld(ridden(train, speed=more), checks) - crawl for more in (
                        speed + 0.1, BEYOND * speed))):
                yield f"3 % over {speed} mm/s nothing of {checks} fails"
    both = min(tip, spill)
    if both >= SLOWEST and (wrong := failing(ridden(train, speed=both), ALL) - crawl):
        yield f"at {both} mm/s, the lower limit: {wrong}"


def _marks(train, ride, said, now):
    """Filled to the highest marks, and to the level that the card tells, the checks pass; 3 % over a mark they fail."""
    marks = {cup["cup"]: cup["safe_depth_mm"] for cup in said["cups"]}
    if marks != {cup.liquid.name: cup.safe for cup in ride.cups}:
        yield "ride --json and card have other marks"
    if not all(marks.values()):
        return
    # what fails with next to nothing in the cups is not theirs to mend
    excused = now & failing(filled(train, {name: cup.fill / 4 for name, cup in train.description.cup.items()}))
    excused |= {(check, who) for check, who in now if check not in TIPS | SPILLS}
    drawn = {cup.liquid.name: cup.liquid.rim - ceil(10 * (cup.liquid.rim - cup.safe) - 1e-6) / 10 for cup in ride.cups}
    levels = {cup.liquid.name: cup.level for cup in ride.cups}
    for depths in (marks, levels, *([drawn] if min(drawn.values()) >= SHALLOW else [])):
        if wrong := failing(filled(train, depths)) - excused:
            yield f"filled to {depths}: {wrong}"
    there = unheld(filled(train, marks), QUESTIONS)
    for name, depth in marks.items():
        # By a hair more a shaped ramp may be another, by whole periods: a mark higher up may hold again.
        if depth >= SHALLOW and not any(unheld(filled(train, {**marks, name: more}), QUESTIONS) - there
                                        for more in (depth + 0.1, BEYOND * depth)):
            yield f"3 % over the mark of {name} at {depth} mm nothing fails"


def _faults(train, ride, now):
    """The ride finds fault with a speed or a fill if and only if a check does; ramps have words of their own, and what
    tips standing is no matter of the ride."""
    blamed = [fault for fault in ride.faults if "too fast" in fault or "too full" in fault or "no speed" in fault]
    wrong = {(check, who) for check, who in now if check in TIPS | SPILLS and not isinstance(who, RampId)}
    wrong |= failing(train, {"string-line"}) - failing(ridden(train, speed=SLOWEST), {"string-line"})
    if ride.curves and bool(blamed) != bool(wrong) and not {check for check, _ in wrong} <= {"tip-standing"}:
        yield f"the ride says {blamed}, the checks {wrong}"


def _ramps(train):
    """A shaped ramp that is found before the longest spills nothing that the curves do not spill by themselves."""
    if train.description.ride.ramp == "shaped" and max(ramp.time for ramp in ramps_of(train)) < LONGEST:
        for who, liquid, risen in poured(train):
            room = room_of(train, liquid)
            if risen.ramps > room + 1e-6 and risen.on.swings + risen.left + risen.on.steady < room:
                yield f"{who} spills on ramps shaped to it: {risen.ramps} over {room}"


def drawn_train(seed):
    """A random train of one wagon, every eighth of two, in turn from the middle and from near the limits, every third
    on shaped ramps, every twenty-third of any length and with modules, which take their time to pack."""
    wishes = {"wagons": 1 + (seed // 2 % 8 == 3), "modules": False} if seed % 23 else {}
    train = resolve(loads(random_description(seed, near=("middle", "limits")[seed % 2], cups=True, **wishes)))
    return train if seed % 3 else ridden(train, ramp="shaped")


@pytest.mark.parametrize("first", range(0, TRAINS, BATCH))
def test_check_ride_and_card_agree(first):
    assert [(seed, wrong) for seed in range(first, first + BATCH) for wrong in disagreements(drawn_train(seed))] == []


@pytest.mark.parametrize("field, factor", [("tip_mm_s", 1.06), ("tip_mm_s", 0.93), ("spill_mm_s", 1.2)])
def test_another_limit_would_be_noticed(field, factor):
    train = drawn_train(19)
    said = record(rides.resolve(train))
    sharpest = {**said["curves"][0], field: said["curves"][0][field] * factor, "speed_mm_s": 20.0}
    assert list(disagreements(train, {**said, "curves": [sharpest]}))


@pytest.mark.parametrize("factor", [1.05, 0.9])
def test_another_mark_would_be_noticed(factor):
    train = drawn_train(2)
    said = record(rides.resolve(train))
    cups = [{**cup, "safe_depth_mm": cup["safe_depth_mm"] * factor} for cup in said["cups"]]
    assert any("fill" in wrong or "over the mark" in wrong for wrong in disagreements(train, {**said, "cups": cups}))


if __name__ == "__main__":
    met = Counter()
    for number in range(int(sys.argv[1]), int(sys.argv[2])):
        for words in disagreements(drawn_train(number)):
            print(number, words)
            met["disagreements"] += 1
        met["trains"] += 1
    print(dict(met))
