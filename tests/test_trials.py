"""Trials on made-up limits: ends, runs, samples and reserves by hand; and real ones on a wagon with bogies."""

from math import ceil, log2

import numpy as np
import pytest
from conftest import described
from hypothesis import given, settings
from hypothesis import strategies as st

from partgen.checks import on_plan as paper
from partgen.finding import judge, worst
from partgen.identity import WagonId
from partgen.plan.train import resolve
from partgen.remedies import tune
from partgen.remedies.trials import CLOSE, STRIDE, Trials, end, told


def finding(value, limit=0.0, name="fence", sense="min"):
    return judge(name, WagonId("post"), value, limit, sense, "mm", "move on")


class Rule:
    """Trials of which a value works where `margin` is 0 or more; counts what it is asked."""

    def __init__(self, margin):
        self.margin, self.asked = margin, []

    def check(self, value, name):
        self.asked.append(value)
        return (finding(self.margin(value)),)

    def findings(self, value):
        return self.check(value, "fence")

    def failing(self, value):
        return "fence" if finding(self.margin(value)).verdict == "fail" else None

    def binding(self, value, name=None):
        return f"{name} at {value:.2f}" if self.failing(value) else None

    def fully_judged(self, low, high):
        return []


# ---- the end of a run


@pytest.mark.parametrize("way, bound, expected", [(1, 200.0, 83.7), (-1, 5.0, 31.25)])
def test_the_end_is_where_the_margin_turns(way, bound, expected):
    found, binds = end(Rule(lambda x: min(83.7 - x, x - 31.25)), 50.0, 50.0, way, bound)
    assert expected - way * CLOSE <= found * 1 <= expected or expected <= found <= expected - way * CLOSE
    assert binds.startswith("fence at") and float(binds.split()[-1]) == pytest.approx(expected, abs=2 * CLOSE)


@pytest.mark.parametrize("way, bound", [(1, 90.0), (-1, 22.5), (1, 50.0 + STRIDE), (1, 53.0)])
def test_where_the_range_ends_first_nothing_binds(way, bound):
    assert end(Rule(lambda x: min(90 - x, x - 22.5)), 50.0, 50.0, way, bound) == (bound, None)


def test_the_run_is_followed_from_its_own_end():
    rule = Rule(lambda x: min(83.7 - x, x - 31.25))
    assert end(rule, 40.0, 80.0, 1, 200.0)[0] == pytest.approx(83.7, abs=CLOSE)
    assert end(rule, 35.0, 80.0, -1, 5.0)[0] == pytest.approx(31.25, abs=CLOSE)


@settings(max_examples=60)
@given(st.floats(20, 180), st.floats(0.2, 2), st.floats(-0.9, 3))
def test_turning_takes_hardly_more_steps_than_halving(turn, power, tilt):
    def margin(x):
        return np.sign(turn - x) * abs(turn - x)**power * (1 + tilt * (x > turn))

    rule = Rule(margin)
    found, _ = end(rule, 1.0, 1.0, 1, 400.0)
    assert turn - CLOSE <= found <= turn + 1e-4       # a margin of 1e-9 is none
    assert len(rule.asked) <= ceil(log2(256 / CLOSE)) + 5       # a stride of 256 mm at most, and a few to set out


def test_a_straight_margin_takes_few_steps():
    rule = Rule(lambda x: 83.7 - x)
    end(rule, 50.0, 50.0, 1, 200.0)
    assert len(rule.asked) < 9


# ---- trials of a train


def made(margins):
    """Trials that resolve to their own value, with checks that find the margins of a table."""
    asked = []

    def run(value, only):
        [name] = only
        asked.append((value, name))
        return [finding(margins[name](value), limit=2.0, name=name)]

    return run, asked


@pytest.fixture
def trials(monkeypatch):
    run, asked = made({"cheap": lambda x: 50 - x, "carried": lambda x: x - 10, "other": lambda x: 40 - x})
    monkeypatch.setattr(paper, "PLAN_CHECKS", dict.fromkeys(("carried", "cheap", "other")))
    monkeypatch.setattr(paper, "CARRIED", frozenset({"carried"}))
    monkeypatch.setattr(paper, "run", run)
    return Trials(lambda value: value), asked


def test_cheap_checks_are_asked_first_and_none_twice(trials):
    tried, asked = trials
    assert tried.failing(30.0) is None and asked == [(30.0, "cheap"), (30.0, "other"), (30.0, "carried")]
    assert tried.failing(39.0) == "other" and asked[3:] == [(39.0, "cheap"), (39.0, "other")]
    assert tried.failing(11.0) == "carried" and len(asked) == 8
    tried.findings(30.0), tried.failing(39.0), tried.binding(11.0, "carried")
    assert len(asked) == 8
    assert tried.fully_judged(0, 100) == [11.0, 30.0] and tried.fully_judged(12, 100) == [30.0]


def test_what_binds_is_the_one_that_fails_by_the_largest_share(trials):
    tried, _ = trials
    assert tried.binding(30.0) is None and tried.binding(39.0, "cheap") is None
    assert tried.binding(55.0, "cheap") == tried.check(55.0, "cheap")[0]
    assert (tried.binding(55.0, "cheap").value, tried.binding(55.0).subject) == (-5.0, WagonId("post"))
    assert told(tried.binding(55.0)) == {"check": "other", "subject": "post", "about": {"wagon": "post"},
                                         "value": -15.0, "limit": 2.0, "unit": "mm"} and told(None) is None


def test_only_what_concerns_counts(monkeypatch):
    run, _ = made({"cheap": lambda x: 50 - x, "other": lambda x: 40 - x})
    monkeypatch.setattr(paper, "PLAN_CHECKS", dict.fromkeys(("cheap", "other")))
    monkeypatch.setattr(paper, "run", run)
    assert Trials(lambda value: value, lambda one: one.check == "cheap").failing(45.0) is None


def test_a_share_is_the_margin_over_the_limit():
    assert finding(3.0, limit=2.0).share == 0.5 and finding(3.0, limit=-2.0, sense="max").share == -2.5
    assert finding(3.0, limit=0.0).share == 0.3        # over 10 where there is nothing to divide by


# ---- seeds, samples and reserves


def test_the_present_value_is_the_seed_where_it_works():
    rule = Rule(lambda x: 1 if 30 <= x <= 35 or 60 <= x <= 190 else -1)
    assert tune._seed(rule, 33.0, 12.0, 600.0) == (33.0, 33.0)
    first, last = tune._seed(rule, 45.0, 12.0, 600.0)
    # of the grid of 26 values, each by 50^(1/25) = 1.169 larger than the one before, those from 60 to 190
    assert 60 <= first < 60 * 1.17 and 190 / 1.17 < last <= 190
    assert tune._seed(Rule(lambda x: -1), 45.0, 12.0, 600.0) is None
    assert tune._seed(Rule(lambda x: 1 if x < 13 or 300 < x < 400 else -1), 45.0, 12.0, 600.0)[0] > 300


def test_samples_fill_the_gaps_and_keep_what_is_known():
    class Known(Rule):
        def fully_judged(self, low, high):
            return [value for value in (31.0, 47.5, 99.0) if low <= value <= high]

    values = [sample.value for sample in tune._samples(Known(lambda x: 5), 30.0, 60.0)]
    assert {30.0, 31.0, 45.0, 47.5, 60.0} <= set(values) and values == sorted(values)
    assert max(np.diff(values)) <= 30 / tune.FINE + 1e-9 and len(values) < 12


def test_reserves_by_hand():
    def sample(value, **margins):
        return tune.Sample(value, margins)

    found = tune.reserves((sample(10.0, a=4.0, b=1.0, c=0.0, d=3.0), sample(16.0, a=1.0, b=3.0, c=0.0, d=3.0),
                           sample(30.0, a=2.0, b=2.0, c=0.0)))
    assert set(found) == {"a", "b", tune.TO_THE_ENDS}       # c has no reserve anywhere, d does not change
    assert found["a"] == pytest.approx([1, 0.25, 0.5]) and found["b"] == pytest.approx([1 / 3, 1, 2 / 3])
    assert found[tune.TO_THE_ENDS] == pytest.approx([0, 0.6, 0])


def test_the_best_has_equal_reserves_on_both_sides():
    # margins 2 (x - 10) and 60 - x from 10 to 60: as shares of 100 and 50 both are 1/2 at 35, midway
    rule = Rule(lambda x: min(2 * (x - 10), 60 - x))
    rule.findings = lambda x: (finding(2 * (x - 10), name="a"), finding(60 - x, name="b"))
    samples = tuple(tune._sample(rule, x) for x in (10.0, 24.0, 60.0))
    best, more = tune._best(rule, samples)
    assert best == 35.0 and best in [sample.value for sample in more]
    # a third check with its crest at 20 pulls it over
    rule.findings = lambda x: (finding(2 * (x - 10), name="a"), finding(60 - x, name="b"),
                               finding(20 - 0.8 * abs(x - 20), name="c"))
    best, _ = tune._best(rule, tuple(tune._sample(rule, x) for x in (10.0, 20.0, 60.0)))
    assert 25 < best < 35


# ---- a wagon on bogies


def test_pivot_spacing_is_tuned_of_a_wagon_on_bogies():
    lines = {"wagon": "pivot_spacing = 120\nlength = 190", "wheelset": "flange_diameter = 20"}
    text = described(**lines)
    tuned = tune.tune_wagon(text.model_copy(update={"wagon": (text.wagon[0].model_copy(update={"wheelbase": 34.0}),)}),
                            "one")
    assert (tuned.variable, tuned.now) == ("pivot_spacing", 120) and tuned.low < tuned.best < tuned.high

    def verdict(spacing):
        wagon = text.wagon[0].model_copy(update={"wheelbase": 34.0, "pivot_spacing": spacing})
        return worst(paper.run(resolve(text.model_copy(update={"wagon": (wagon,)}))))

    assert verdict(tuned.low) == verdict(tuned.high) == verdict(tuned.best) == "pass"
    assert "fail" in (verdict(tuned.low - 0.1), verdict(tuned.high + 0.1))
    assert set(tuned.record()) == {"wagon", "variable", "low", "high", "best", "low_binds", "high_binds", "now",
                                   "longest_body", "longest_binds", "settings", "left_out", "anew", "unit"}
    assert tuned.settings == () and tuned.best == tuned.anew
