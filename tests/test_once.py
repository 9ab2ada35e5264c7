"""Asking a train once: the answer is the one that asking anew gives, for each train and whatever stands beside it."""

from conftest import described

from partgen.dynamics.laps import rises
from partgen.dynamics.liquids import liquids_of
from partgen.dynamics.once import MOST, once
from partgen.dynamics.ramps import ramps_of
from partgen.dynamics.search import filled, ridden
from partgen.plan.train import resolve


def test_each_train_is_asked_once_and_none_gets_anothers_answer():
    train, asked = resolve(described(wagon="cups = ['tea']")), []

    @once
    def speed(of, more=0.0):
        asked.append(of)
        return of.description.ride.speed + more

    for step in range(3 * MOST):        # each is gone before the next is made, which may get its number
        assert speed(ridden(train, speed=100.0 + step)) == 100 + step
    assert [speed(train), speed(train), speed(train, 1.0), speed(train, more=1.0)] == [250, 250, 251, 251]
    assert len(asked) == 3 * MOST + 3


def test_what_is_kept_is_what_asking_anew_gives():
    train = resolve(described(wagon="cups = ['tea']"))
    for other in (train, ridden(train, speed=190.0), filled(train, {"tea": 21.0}), ridden(train, ramp="shaped"), train):
        liquid, = liquids_of(other)
        assert rises(other, liquid) == rises(other, liquid) == rises.__wrapped__(other, liquid)
        assert rises(other, liquid, 700.0) == rises.__wrapped__(other, liquid, 700.0)
        assert ramps_of(other) == ramps_of.__wrapped__(other)
