"""How deep the cups may be filled: tried one depth after the other by the checks, all cups at once."""

from math import radians, tan

import pytest
from conftest import described
from teas import teas

from partgen.checks.on_plan import run
from partgen.dynamics.fills import fills_of
from partgen.dynamics.questions import QUESTIONS, holds, unheld
from partgen.dynamics.search import filled, largest, ridden
from partgen.plan.train import resolve

CALM = {"speed": 160.0, "stop_time": 3.0, "start_time": 3.0}
STRONG = {"mass": 1200.0, "adhesion": 0.6}
PULLED = "\n[train.locomotive]\nmass = 1200\nadhesion = 0.6"
GLASS = "[cup.glass]\nprofile = [[0, 41], [66, 53]]\nmass = 97\nwall = 2.2\nfill = 31"


def test_filled_otherwise_is_what_a_description_with_that_fill_resolves_to():
    train = resolve(described(wagon="cups = ['tea']\ninserts = ['glass']\nmodules = ['box']", cup=GLASS))
    cups = {name: cup.model_copy(update={"fill": depth}) for (name, cup), depth in
            zip(train.description.cup.items(), (33.7, 12.1), strict=True)}
    again = resolve(train.description.model_copy(update={"cup": cups}))
    assert filled(train, {name: cup.fill for name, cup in cups.items()}) == again
    assert ridden(train, speed=77.0) == resolve(train.description.model_copy(
        update={"ride": train.description.ride.model_copy(update={"speed": 77.0})}))


def test_highest_mark_is_the_last_tenth_from_the_rim_that_the_checks_pass():
    train = teas(ride=CALM, cup={"fill": 31.3}, locomotive={"mass": 900.0})
    fill = fills_of(train)["tea"]
    assert fill.level == 31.3 < fill.highest
    tenths = 10 * (57.5 - fill.highest)                     # the rim stands 60 - 2.5 mm over the inner floor
    assert tenths == pytest.approx(round(tenths))
    for depth, verdict in ((fill.highest, False), (fill.highest + 0.1, True)):
        found = run(filled(train, {"tea": depth}), only=set(QUESTIONS))
        assert any(one.verdict == "fail" for one in found) == verdict


def test_no_ride_at_all_leaves_the_wall_that_must_stay_dry():
    # crawling, straight, ramps of 20 s: nothing swings, and only reserve and lean are lost
    crawl = {"speed": 10.0, "stop_time": 20.0, "start_time": 20.0, "reserve": 4.3, "floor_tilt": 0.9,
             "joint_step": 0.0}
    track = described(track="plan = [{go = 'straight', length = 900}]").track
    train = teas(ride=crawl, track={"plan": track.plan}, locomotive=STRONG)
    radius = 26.0                                           # at the surface, nearly
    by_hand = 57.5 - 4.3 - radius * tan(radians(0.9))
    assert by_hand - 0.3 < fills_of(train)["tea"].highest < by_hand + 0.1


def test_cups_share_what_the_wagon_bears_and_the_first_gets_no_more_than_the_others_leave():
    train = ridden(resolve(described(wagon="cups = ['tea', 'glass']", cup=GLASS, ride=PULLED)), tip_safety=1.9,
                   speed=350.0, floor_tilt=2.0, stop_time=2.0)
    marks = {name: fill.highest for name, fill in fills_of(train).items()}
    assert not unheld(filled(train, marks), QUESTIONS)
    for name in marks:
        assert unheld(filled(train, {**marks, name: marks[name] + 0.2}), QUESTIONS)


def test_cup_too_full_as_described_is_told_a_level_that_holds_beside_the_others():
    train = resolve(described(wagon="cups = ['tea', 'glass']", cup=GLASS.replace("fill = 31", "fill = 62"),
                              ride="[ride]\nspeed = 160\nstop_time = 3" + PULLED))
    fills = fills_of(train)
    assert fills["tea"].level == 40 and fills["glass"].level < 62
    assert holds(filled(train, {name: fill.level for name, fill in fills.items()}), QUESTIONS)


def test_cup_that_spills_at_any_depth_gets_no_mark_and_keeps_others_from_none():
    steep = "[cup.dish]\nprofile = [[0, 150], [12, 152]]\nmass = 90\nwall = 2\nfill = 5"
    train = resolve(described(wagon="cups = ['tea', 'dish']", cup=steep, ride="[ride]\nspeed = 120\nfloor_tilt = 8"))
    fills = fills_of(train)
    assert fills["dish"].level == fills["dish"].highest == 0      # 75 mm at 8 degrees are over 10 mm of wall
    assert fills["tea"].highest > 20


def test_questions_say_what_the_checks_find():
    hard = {"speed": 900.0, "stop_time": 0.2, "start_time": 0.2, "floor_tilt": 6.0, "ramp": "shaped"}
    train = teas(ride=hard, wagon={"cups": ("tea", "tea", "tea")}, locomotive={"mass": 200.0},
                 coupler={"remanence": 0.3})
    found = {(one.check, one.subject) for one in run(train, only=set(QUESTIONS)) if one.verdict == "fail"}
    answers = unheld(train, QUESTIONS)
    assert {(check, who) for check, who in found if str(who) != "one/break-away"} == answers and len(answers) > 7
    assert not holds(train, QUESTIONS) and holds(train, QUESTIONS, 0.0, answers)
    assert not holds(train, QUESTIONS, 0.0, answers - {next(iter(answers))})


def test_largest_and_smallest_step_that_passes():
    asked = []

    def passes(step):
        asked.append(step)
        return step <= 37
    assert largest(3, 95, passes) == 37 and 37 in asked and 38 in asked
    assert largest(38, 95, passes) is None and largest(9, 9, passes) is None
