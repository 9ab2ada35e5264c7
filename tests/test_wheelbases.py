"""Which of a frame's marks may be clamped at: each put in as the wheelbase, against the checks of the running gear."""

from math import inf

import pytest
from plans import plan_of, train_of
from trains import random_description
from trains.edge import loads

from partgen.checks.wheels import attack_angle, twist, wheel_room, wheelbase
from partgen.checks.wishes import wanting
from partgen.plan import wagon as wagons
from partgen.plan.running_gear.wheelbases import Setting, barred, settings, twist_limit
from partgen.plan.train import TrainPlan


def failing(description, wagon, plan, base):
    """Which checks of the gear fail with axles `base` apart under the body as it is, the holders never slid: one drawn
    so has its wheels where they are clamped for that."""
    other = wagon.model_copy(update={"wheelbase": base, "length": plan.length, "width": plan.width, "travel": 0.0})
    moved, clamped = wagons.resolve(other, description), wagons.clamped(plan, base)
    at = [[item.places for item in one.gear.items] for one in (moved, clamped)]
    assert at[0] == at[1] and clamped.base == moved.base and set(clamped.gear.axles) == set(moved.gear.axles)
    assert (clamped.frame, clamped.body) == (plan.frame, plan.body), "ballast and all else are as they were"
    train = TrainPlan(description, (moved,))
    found = [one for check in (wheelbase, attack_angle, twist, wheel_room) for one in check(train)]
    return {one.check for one in (*found, *wanting(moved)) if one.verdict == "fail"}


def settings_of(seed, near):
    """Every mark of a random train's two-axle wagons, and the checks that fail there."""
    description = loads(random_description(seed, near=near, bogies=False, modules=False))
    for wagon in description.wagon:
        for travel in (wagon.travel, 12.0):
            plan = wagons.resolve(wagon.model_copy(update={"travel": travel}), description)
            if not plan.wanting:
                yield from ((one, failing(description, wagon, plan, one.base)) for one in plan.gear.scale)


@pytest.mark.parametrize("near", ["middle", "limits"])
def test_a_mark_is_offered_where_the_gears_checks_hold_and_nowhere_else(near):
    tried = [pair for seed in range(12) for pair in settings_of(seed, near)]
    for one, failed in tried:
        assert bool(one.barred) == bool(failed), (one, failed)
    assert sum(not one.barred for one, _ in tried) > 25 and sum(bool(one.barred) for one, _ in tried) > 5
    assert near == "middle" or len({one.barred.split(",")[0] for one, _ in tried}) >= 3


def test_marks_beyond_a_limit_are_named_with_it():
    """Plane geometry has the curve's limit between 70 and 76 mm; what is 21.5 mm long meets its like under 22.3 mm."""
    plan = plan_of({"wheelbase": 64.0, "travel": 9.0}, track={"use": "toy-37.5", "min_radius": 300})
    limit = plan.gear.scale[-1].barred
    assert plan.gear.settings == (46, 52, 58, 64, 70) and limit.startswith("over the curve's limit, 7")
    assert plan.gear.barred == f"76, 82 ({limit})"
    marks = settings((16, 22, 28), plan.wheelset, train_of({}).description.track, 21.5, 0.3)
    assert barred(marks) == "16, 22 (under 22.3 mm, where the axles meet)" and marks[2] == Setting(28)


def test_a_true_track_lifts_no_wheel():
    """Half of a flange 1.7 mm deep at 4 mm in a metre: 212.5 mm; 0.45 mm of it at a joint leave 100 mm."""
    plan = plan_of({})
    track = train_of({}).description.track.model_copy(update={"twist": 4.0})
    assert twist_limit(plan.wheelset, track, 0) == pytest.approx(212.5)
    assert twist_limit(plan.wheelset, track, 0.45) == pytest.approx(100)
    true = track.model_copy(update={"twist": 0.0})
    assert [twist_limit(plan.wheelset, true, step) for step in (0, 0.85, 0.86)] == [inf, inf, 0]
    stepped = settings((22, 64), plan.wheelset, true, 21.5, 0.86)
    assert barred(stepped) == "22, 64 (a joint of the rails lifts a wheel too far)"
