"""What the commands say, piece by piece: figures, verdicts, tables in a pipe and on a terminal, the bar of a tuning."""

from types import SimpleNamespace

import pytest
from msgspec.structs import replace

from partgen.cli import show
from partgen.finding import Remedy, apart, figure, judge
from partgen.identity import WagonId
from partgen.remedies.tune import Tuning


def finding(check, value, limit, sense="max", unit="mm", wagon="tea", close=0.0):
    return judge(check, WagonId(wagon), value, limit, sense, unit, "cure it", close)


@pytest.mark.parametrize(("value", "text"), [
    (0.0, "0"), (-0.0, "0"), (4e-7, "0"), (-3e-9, "0"), (70.0, "70"), (-12.0, "-12"), (77.9128, "77.91"),
    (-56.487, "-56.49"), (0.01, "0.01"), (0.0099, "0.0099"), (0.00021, "0.0002"), (-0.004, "-0.0040"),
    (2e-6, "0.0000"), (1e6, "1000000"), (1234.5, "1234.50")])
def test_figures_are_short_enough_to_read(value, text):
    assert figure(value) == text


@pytest.mark.parametrize(("found", "text"), [
    ([], "0 checks: 0 fail"),
    ([finding("a", 1, 2)], "1 check: 1 hold, 0 fail"),
    ([finding("a", 1, 2), finding("b", 3, 2)], "2 checks: 1 hold, 1 fail"),
    ([finding("a", 1.9, 2, close=0.5)], "1 check: 1 close, 0 fail"),
    ([finding("a", 1.9, 2, close=0.5), finding("b", 1, 2), finding("c", 1, 2)], "3 checks: 2 hold, 1 close, 0 fail"),
    ([finding("a", 5, 2)], "1 check: 1 fail")])
def test_verdicts_are_counted(found, text):
    assert show.summary(found) == text


@pytest.mark.parametrize("helped, said", [(1, False), (2, True)])
def test_changes_for_several_findings_are_said_to_stand_by_themselves(capsys, helped, said):
    found = [finding("throw", 47, 45, wagon=name) for name in ("one", "two")]
    treated = [replace(one, remedies=(Remedy((("coupler.gap", 20.0),), "set coupler.gap to 20 mm"),) * (at < helped))
               for at, one in enumerate(found)]
    show.findings(found, "Tea line", treated=treated)
    out = capsys.readouterr().out
    assert out.count("set coupler.gap to 20 mm") == helped and ("make one and check again" in out) is said


def test_a_table_shows_the_tightest_of_each_check_and_every_remedy(capsys):
    found = [finding("throw", 30.5, 45, wagon="one"), finding("throw", 47, 45, wagon="two"),
             finding("throw", 41, 45, wagon="three"),
             finding("mass", 5, 3, "min", "1"), finding("mass", 4, 3, "min", "1")]
    show.findings(found, "Tea line")
    assert capsys.readouterr().out.splitlines() == [
        "Tea line",
        "check tightest at found    limit unit verdict",
        "throw two            47 <=    45 mm   fails (1 of 3)",
        "mass  tea             4 >=     3      holds (2)",
        "throw of two: cure it",
        "5 checks: 4 hold, 1 fail"]
    show.findings(found, "Tea line", every=True)
    said = capsys.readouterr().out.splitlines()
    assert len(said) == 2 + 5 + 2 and said[1].startswith("check what  found") and said[2].endswith("mm   holds")


def test_what_is_close_stands_in_the_table_with_what_it_is_over(capsys):
    """An opening close to what a printer bridges, beside one that is tighter on its limit, and holds."""
    over = replace(finding("opening", 19, 50, close=40), note="over the 10 mm that the printer bridges")
    show.findings([finding("opening", 0.1, 0.1), over], "Tea line")
    row = capsys.readouterr().out.splitlines()[2]
    assert " 19 <= " in row and row.endswith("close (1 of 2); over the 10 mm that the printer bridges")


def test_the_best_wheelbase_reads_as_the_clamp_it_is_and_both_ends_as_values_that_work(capsys):
    """64.25 mm is none of 64.2 and 64.3 mm, and 57.1262 works where 57.12 does not: rounded inwards."""
    bound = finding("wheelbase", 1, 2)
    tuned = Tuning("tea", "wheelbase", 57.1262, 70.0049, 64.25, bound, bound, 64.25, None, None, (),
                   (58.25, 64.25), (), 63.9)
    show.tunings("Tea line", (tuned,), (300.0, bound), False)
    said = capsys.readouterr().out
    assert "wheelbase works from 57.13 to 70.00 mm, best 64.25 mm\n" in said
    assert "can be clamped, all checks hold at 58.25, 64.25 mm; a frame drawn anew is best at 63.9 mm\n" in said


@pytest.mark.parametrize(("low", "high", "best", "now", "ends", "marks"), [
    (40.0, 80.0, 60.0, 50.0, (28, 92), {"◆": 22, "│": 15}),         # 0.3 of the span beyond either end
    (40.0, 80.0, 60.0, 100.0, (28, 100), {"◆": 19, "│": 43}),       # what is described lies outside
    (40.0, 80.0, 60.0, 10.0, (10, 92), {"◆": 26, "│": 0}),
    (50.0, 50.0, 50.0, 50.0, (50, 50), {"◆": 22})])                 # a single value: a millimetre's span
def test_a_bar_shows_where_the_interval_lies(low, high, best, now, ends, marks):
    first, *cells, last = show._bar(low, high, best, now)
    assert first == f"  {ends[0]} " and last.startswith(f" {ends[1]} mm")
    drawn = "".join(cell for cell, _ in cells)
    assert len(drawn) == 44 and {mark: drawn.index(mark) for mark in marks} == marks
    left, right = min(low - 0.3 * max(high - low, 1), now), max(high + 0.3 * max(high - low, 1), now)
    inside = [k for k, cell in enumerate(drawn) if cell != "·" and (cell != "│" or low <= now <= high)]
    assert min(inside) == int((low - left) / (right - left) * 44)
    assert max(inside) == int((high - left) / (right - left) * 44)


def test_settings_are_told_where_there_are_two_and_not_where_there_is_one(capsys):
    def plan(name, *bases):
        return SimpleNamespace(name=name, base=bases[0], travel_lost="",
                               gear=SimpleNamespace(scale=bases, settings=bases, barred=""))
    show.settings(SimpleNamespace(wagons=[plan("one", 64.0), plan("two", 64.0, 70.0)]))
    assert capsys.readouterr().out == (
        "two: can be clamped at a wheelbase of 64, 70 mm; checked at 64 mm, `partgen tune` tells at which others all "
        "checks hold\n")


@pytest.mark.parametrize("value, limit, spec, said", [
    (4.996, 5.0, "f", ("4.996", "5.000")), (4.96, 5.0, "f", ("4.96", "5.00")), (3.2, 5.0, "f", ("3.2", "5.0")),
    (0.01999, 0.02, "%", ("1.999%", "2.000%")), (5.0, 5.0, "f", ("5.000000", "5.000000"))])
def test_a_reasons_two_figures_have_as_many_decimals_as_tell_them_apart(value, limit, spec, said):
    assert apart(value, limit, spec=spec) == said
