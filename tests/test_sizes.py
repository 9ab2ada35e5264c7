"""What `check` tells of each wagon besides its findings: sizes, masses, cups, filament and hours."""

import json
from math import pi

import pytest
from click.testing import CliRunner
from conftest import DEMO, bare
from msgspec.structs import replace
from plans import plan_of, train_of

from partgen.cli import main, show
from partgen.dynamics.load_states import notable
from partgen.paper.sizes import sizes
from partgen.plan.mass import loads
from partgen.plan.printed import print_time, printed_mass

CYLINDER = {"cup": {"can": dict(profile=[[0, 60], [80, 60]], mass=50, wall=2, fill=40)}}


def test_what_a_maker_sets_is_what_is_told():
    wished = {"length": 187.0, "width": 71.5, "height": 41.0}
    one, = sizes(train_of({**wished, "modules": ["tray"], "wall": 2.6}))
    assert one.outside == pytest.approx(tuple(wished.values()))
    plan = plan_of({**wished, "modules": ["tray"], "wall": 2.6})
    lid, body = plan.lid, plan.body
    assert one.over_all == pytest.approx((lid.length, lid.width, lid.top - body.bottom))
    assert lid.length > body.length and lid.width > body.width, "the lid's rim goes round the body"
    assert one.inside[:2] == pytest.approx((187.0 - 5.2, 71.5 - 5.2))
    assert one.inside[2] == pytest.approx(41.0 - plan.body.floor - plan.body.over), "as much as modules may be high"
    assert one.high == one.high_with_cups == pytest.approx(plan.lid.top)
    assert (one.gear.base, one.gear.settings) == (64.0, (58.0, 64.0, 70.0))


def test_masses_and_cups_by_hand():
    """A can 56 mm wide inside, 40 mm deep in water."""
    train = train_of({"cups": ["can", "can"]}, **CYLINDER)
    (plan,), (one,), printer = train.wagons, sizes(train), train.description.printer
    drink = pi / 4 * 56**2 * 40 / 1000
    can, = one.cups
    assert (can.cup, can.count) == ("can", 2) and can.drink == pytest.approx(drink, rel=1e-3)
    assert can.mass == pytest.approx(50 + drink, rel=1e-3)
    assert one.full - one.empty == pytest.approx(2 * (50 + drink), rel=1e-3)
    assert one.empty == pytest.approx(sum(load.mass for load in loads(plan, printer)
                                          if load.kind not in ("cup", "liquid")))
    states = {state.what: state for state in notable(plan, printer)}
    assert one.full == pytest.approx(max(state.mass for state in states.values()))
    assert one.high_with_cups == pytest.approx(plan.deck_z + 80) and one.high < one.high_with_cups


def test_what_is_not_proven_best_is_told_with_how_far_it_may_be_off(capsys):
    train = train_of({"modules": ["tray"]})
    (plan,), found = train.wagons, (("length", 120.0, 112.55), ("width", 60.0, 60.0), ("runs", 300.0, 200.0))
    assert not plan.layout.unproven() and sizes(train)[0].record()["not_proven_best"] == []
    searched = replace(train, wagons=(replace(plan, layout=replace(plan.layout, aims=found)),))
    assert sizes(searched)[0].record()["not_proven_best"] == [
        {"aim": "length", "found": 120.0, "none_below": 112.55}, {"aim": "runs", "found": 300.0, "none_below": 200.0}]
    show.sizes(sizes(searched))
    assert "was found, but a body up to 7.5 mm shorter is not ruled out" in capsys.readouterr().out


def test_filament_and_time():
    """A spool of 1 kg of PLA, 1.75 mm, is 330 to 335 m long (as sold)."""
    train = train_of({"modules": ["tray"]})
    (plan,), (one,), printer = train.wagons, sizes(train), train.description.printer
    assert one.filament == pytest.approx(sum(printed_mass(item.plan, printer) * item.count for item in plan.items))
    assert 330 < one.metres / one.filament * 1000 < 336
    assert one.hours == pytest.approx(sum(print_time(item.plan, printer) * item.count for item in plan.items) / 3600)


@pytest.mark.parametrize(("change", "less"), [({"outline_speed": 90.0, "fill_speed": 140.0}, 0.5),
                                              ({"acceleration": 5000.0}, 0.75), ({"retraction": 0.0}, 0.9)])
def test_a_faster_printer_takes_less(change, less):
    train = train_of({})
    frame, printer = train.wagons[0].frame, train.description.printer
    fast = printer.model_copy(update={"slicing": printer.slicing.model_copy(update=change)})
    assert less < print_time(frame, fast) / print_time(frame, printer) < 1


def test_check_tells_them_after_the_findings(tmp_path):
    file = tmp_path / "line.toml"
    file.write_text(bare(wagon="modules = ['box']\ncups = ['tea', 'tea']\nballast = 30"))
    said = CliRunner().invoke(main, ["check", str(file)]).stdout.splitlines()
    at = next(k for k, line in enumerate(said) if line.startswith("sizes"))
    assert " checks: " in said[at - 1] and said[at + 1].split()[:2] == ["wagon", "over"]
    told, = json.loads(CliRunner().invoke(main, ["check", str(file), "--json"]).stdout)["wagons"]
    assert said[at + 2].split()[:2] == ["one", f"{told['over_all']['length']:.1f}"]
    assert any(line.startswith(f"one: 2 x cup, {told['cups'][0]['drink_ml']:.0f} ml each") for line in said)
    assert {"height", "over_all", "inside", "over_rail", "over_rail_with_cups", "empty_g", "full_g", "wheelbase",
            "settings", "filament_g", "filament_m", "print_time_h"} < set(told)
    demo = json.loads(CliRunner().invoke(main, ["check", str(DEMO), "--json"]).stdout)["wagons"]
    assert [one["wagon"] for one in demo] == ["controls", "cups", "pantry"]
