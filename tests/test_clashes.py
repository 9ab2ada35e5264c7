"""Values that cannot be together, and every number just outside and just inside its range."""

import re
import tomllib
from copy import deepcopy

import pytest
from test_description import TEXT, changed, faults_of

from partgen.describe.description import KINDS, LISTED, NAMED, Description
from partgen.describe.field import counts, extra, inner_table, limits
from partgen.describe.load import examine, loads
from partgen.describe.starter import starter
from partgen.describe.wording import path_text

# ---- values that clash -----------------------------------------------------------------------

BANK = 'modules = ["bank", "port"]\nwires = [["bank", "port"]]'


def track(lines):
    return "[track]\n", f"[track]\n{lines}\n"


def laid(lines):
    """Put `lines` in the place of the demo's plan and stops."""
    return TEXT[TEXT.index("plan = ["):TEXT.index("[wheelset")], f"{lines}\n"


def wheels(lines):
    return "[wheelset.standard]\n", f"[wheelset.standard]\n{lines}\n"


def tea(lines, preset="tea-glass"):
    return 'use = "tea-glass"', f'use = "{preset}"\n{lines}'


def filled(depth):
    return "fill = 44 ", f"fill = {depth} "


def second(lines):
    return 'name = "cups"', f'name = "cups"\n{lines}'


def order(names):
    return "maker_note", f"order = {names}\nmaker_note"


CLASHES = [
    (track("min_radius = 80"), "track.min_radius", "under 2.5 gauges"),
    (track("gauge = 24\nrail_head = 9"), "track.rail_head", "over a third of the gauge"),
    (("half_width = 45", "half_width = 18"), "track.clearance[1].half_width", "inside the rails"),
    (("high = 200", "high = 20"), "track.clearance[2].high", "not above low"),
    (laid('stop = [{ name = "table", station = 100 }]'), "track.stop", "needs a plan"),
    # two quarter circles of 320 mm: 1005 mm
    (laid('stop = [{ name = "table", station = 1006 }]\n'
          'plan = [{ go = "left", radius = 320, angle = 90, times = 2 }]'), "track.stop[1].station", "end at 1005 mm"),
    (wheels("flange_diameter = 17.2"), "wheelset.standard.flange_diameter", "guides nothing"),
    (wheels("ends = 'bearing'\nbearing_outer = 4.5"), "wheelset.standard.bearing_outer", "two rings and the balls"),
    (wheels("ends = 'bearing'\nbearing_outer = 11"), "wheelset.standard.bearing_outer", "no wheel"),
    (wheels("ends = 'bearing'\nback_to_back = 9\nbearing_width = 3"), "wheelset.standard.bearing_width", "over 2.5 mm"),
    (wheels("ends = 'pin'"), "wheelset.standard.over_points", "over_points is missing"),
    (wheels("ends = 'pin'\nover_points = 47"), "wheelset.standard.over_points", "is under 47.6 mm"),
    (wheels("ring = 1.5"), "wheelset.standard.ring", "set printed = true"),
    (wheels("width = 2.8"), "wheelset.standard.width", "the rest is the tread"),
    (wheels("axle_diameter = 11"), "wheelset.standard.axle_diameter", "no wheel"),
    (wheels('ends = "tube"\ntube_diameter = 11'), "wheelset.standard.tube_diameter", "no wheel"),
    (wheels('ends = "tube"\ntube_diameter = 3'), "wheelset.standard.tube_diameter", "goes over the axle"),
    # atan(3.5 / 2.6) = 53.4 degrees
    (("flange_angle = 90", "flange_diameter = 24\nflange_angle = 45"), "wheelset.standard.flange_angle",
     "54 deg or more"),
    (wheels("back_to_back = 38"), "wheelset.standard.back_to_back", "not below the gauge"),
    (wheels("back_to_back = 37.5"), "wheelset.standard.back_to_back", "37.5 mm is not below the gauge 37.5 mm"),
    (wheels("flange_thickness = 2.5\nback_to_back = 32.5"), "wheelset.standard.flange_thickness", "less than 32.5 mm"),
    (("half_width = 45", "half_width = 18.75"), "track.clearance[1].half_width", "half gauge 18.75 mm"),
    (("wheelbase = 62", "wheelbase = 118"), "train.locomotive.wheelbase", r"\(length = 118 mm\)"),
    (tea("wall = 11.3\nprofile = [[0, 20], [90, 70]]"), "cup.tea.wall", "no inside in a cup 22.5 mm across"),
    (wheels("back_to_back = 33"), "wheelset.standard.flange_thickness", "less than 32.3 mm"),
    # 31.2 + 2.6 + 3.8 = 37.6 mm: a flange at its rail leaves the other tread nothing where the gauge is 0.2 mm wide
    (wheels("width = 3.8"), "wheelset.standard.width", "4.1 mm or more"),
    # 37.7 - 31.236 - 2.6 + 0.2 = 4.064 mm, shown rounded up so that the cure is one
    (wheels("back_to_back = 31.236\nwidth = 3.8"), "wheelset.standard.width", "4.07 mm or more"),
    (wheels("flange_diameter = 26"), "wheelset.standard.flange_diameter", "below rail top"),
    (("height = 13", "height = 4"), "coupler.height", "4.5 mm or more"),
    (('use = "bed-220"', "layer = 0.4"), "printer.layer", "will not bond"),
    (('use = "bed-220"', "line_width = 0.9"), "printer.line_width", "for a 0.4 mm nozzle"),
    (("wheelbase = 62", "wheelbase = 118"), "train.locomotive.wheelbase", "shorter than the locomotive"),
    (filled(70), "cup.tea.fill", "fill less"),
    (tea("wall = 12\nprofile = [[0, 20], [80, 70]]", "paper-cup"), "cup.tea.wall", "no inside"),
    (tea("profile = [[1, 40], [90, 60]]"), "cup.tea.profile", "starts at 1 mm"),
    (tea("profile = [[0, 40], [90, 60], [90, 61]]"), "cup.tea.profile", "must rise"),
    (tea("profile = [[0, 4], [90, 60]]"), "cup.tea.profile", "diameter 4 mm"),
    (tea("profile = [[0, 40], [260, 60]]"), "cup.tea.profile", "ends at 260 mm"),
    (('name = "cups"', 'name = "controls"'), "wagon[2].name", r"is that of wagon\[1\]"),
    (('name = "cups"', 'name = "../cups"'), "wagon[2].name", "none of /"),
    (('name = "cups"', 'name = "- -"'), "wagon[2].name", "at least one letter or digit"),
    (('name = "cups"', 'name = "cu\u202eps"'), "wagon[2].name", r"holds U\+202E as letter 3"),
    (second("length = 70"), "wagon[2].wheelbase", "shorter than the body"),
    # hypot(210, 210) = 297 mm
    (second("length = 310"), "wagon[2].length", "over the bed's diagonal 297 mm"),
    # 70 + 20.4 + 4 mm
    (second("pivot_spacing = 94"), "wagon[2].pivot_spacing", "it takes 94.4 mm"),
    (second("pivot_spacing = 180\nlength = 180"), "wagon[2].pivot_spacing", "shorter than the body"),
    # 2 x 320 - 37.5 = 602.5 mm wide inside; sqrt(602.5^2 - 70^2) = 598.42 mm
    (second("pivot_spacing = 599"), "wagon[2].pivot_spacing", "takes 598.4 mm or less"),
    (('modules = ["controller"', 'columns = 2\nmodules = ["controller"'), "wagon[1].columns", "has no cups"),
    (second('inserts = ["expresso"]'), "wagon[2].inserts", "did you mean espresso"),
    (second("width = 130"), "wagon[2].width", "over the 124 mm"),
    (second("wall = 0.8"), "wagon[2].wall", "two printed lines"),
    (second('wheelset = "stanard"'), "wagon[2].wheelset", "did you mean standard"),
    (('wheelbase = 70\ncups = ["e', 'wheelbase = 21\ncups = ["e'), "wagon[2].wheelbase", "21.4 mm, 1 mm"),
    ((BANK, 'modules = ["bnk"]'), "wagon[3].modules", r"\[module.bnk\]; did you mean bank"),
    ((BANK, 'modules = ["ba\u202ek"]'), "wagon[3].modules", r'\[module."ba\\u202ek"\]'),
    (order(["cups", "controls"]), "train.order", "leaves out pantry"),
    (order(["cups", "controls", "pantri", "pantry"]), "train.order", "did you mean pantry"),
    (order(["cups", "controls", "pantry", "cups"]), "train.order", "stands in it 2 times"),
]


@pytest.mark.parametrize("change, path, words", CLASHES, ids=[f"{p} {w}" for _, p, w in CLASHES])
def test_clash_is_the_one_fault_and_says_what_to_change(change, path, words):
    found = faults_of(changed(change))
    assert set(found) == {path} and re.search(words, found[path]) and found[path].isprintable()


@pytest.mark.parametrize("change", [
    track("rail_head = 12\nrail_height = 30"), wheels("width = 4.1"), order(["pantry", "cups", "controls"]),
    wheels('ends = "tube"\ntube_diameter = 3.2'), second("length = 296\nwidth = 124\nwall = 0.9"),
    second("pivot_spacing = 94.4"), second("pivot_spacing = 598.4"), second("pivot_spacing = 180\nlength = 180.1"),
    wheels("tread_diameter = 17\nflange_diameter = 17.4"), wheels("tread_diameter = 5\nflange_diameter = 6"),
    ("height = 13", "height = 4.5"), ('use = "bed-220"', "layer = 0.32"), filled(67.5),
    ('wheelbase = 70\ncups = ["e', 'wheelbase = 21.4\ncups = ["e'), ('name = "cups"', 'name = "cups & saucers, 2"'),
    wheels("back_to_back = 32.2"), ("half_width = 45", "half_width = 18.8"), second("pivot_spacing = 598.4"),
    ("wheelbase = 62", "wheelbase = 117.9"), tea("wall = 11.2\nprofile = [[0, 20], [90, 70]]")])
def test_the_last_good_value_before_a_clash_loads(change):
    assert isinstance(loads(changed(change)), Description)


def test_wheelbase_longer_than_the_curve_is_wide():
    found = faults_of(changed(track("min_radius = 100"), ("wheelbase = 70", "wheelbase = 200")))
    assert found == {"wagon[1].wheelbase": "wheelbase = 200 mm is longer than the sharpest curve is wide "
                                           "(162.5 mm): shorten it"}
    assert isinstance(loads(changed(track("min_radius = 100"), ("wheelbase = 70", "wheelbase = 162.4"))), Description)


# ---- every number's range --------------------------------------------------------------------

STARTER = tomllib.loads(starter())


def all_tables():
    """Yield (steps, model) for one table of every model, as they stand in `full_data`."""
    for kind, model in KINDS.items():
        name = {"wheelset": "standard", "module": "controller", "cup": "espresso"}.get(kind, kind)
        steps = (kind, name) if kind in NAMED else (kind, 0) if kind in LISTED else (kind,)
        yield from _within(steps, model)


def _within(steps, model):
    yield steps, model
    for name, field in model.model_fields.items():
        if inner := inner_table(field):
            yield from _within((*steps, name, *((0,) if counts(field)[1] else ())), inner)


def full_data():
    data = deepcopy(STARTER)
    data["track"]["clearance"] = [{"low": 0.0, "high": 200.0, "half_width": 60.0}]
    data["track"]["plan"] = [{"go": "left", "radius": 400.0, "angle": 45.0}]
    data["track"]["obstacle"] = [{"name": "lamp", "station": 0.0, "side": "left", "distance": 50.0}]
    data["track"]["stop"] = [{"name": "table", "station": 0.0}]
    data["module"]["controller"]["looks_out"] = [{"side": "back", "width": 4.0, "height": 4.0}]
    data["train"]["locomotive"] = {"adaptor": {"under": 24.0, "length": 20.0, "width": 20.0}}
    return data


RANGES = [(steps, name, field) for steps, model in all_tables() for name, field in model.model_fields.items()
          if limits(field)[0] is not None]


def messages_with(steps, name, value):
    data = full_data()
    table = data
    for step in steps:
        table = table[step]
    table[name] = value
    return [fault.message for fault in examine(data)[1] if fault.path == path_text(*steps, name)]


@pytest.mark.parametrize("steps, name, field", RANGES, ids=[path_text(*s, n) for s, n, _ in RANGES])
def test_just_outside_a_range_is_a_fault_and_just_inside_is_not(steps, name, field):
    low, high = limits(field)
    unit = extra(field, "unit")
    nudge = 1 if field.annotation is int else 1e-6 * max(1, abs(low), abs(high))
    for value in (low - nudge, high + nudge):
        [message] = messages_with(steps, name, value)
        assert message.startswith(f"{name} = {value:.10g} {unit} is outside {low:g} to {high:g} {unit}: ")
        assert extra(field, "why") in message
    for value in (low, low + nudge, high - nudge, high):
        assert not any("is outside" in message and f"to {high:g} {unit}: " in message
                       for message in messages_with(steps, name, value))


def test_the_walk_reaches_every_number_and_every_default_is_in_range():
    assert len(RANGES) >= 50 and {steps[0] for steps, _, _ in RANGES} == set(KINDS)
    for steps, name, field in RANGES:
        low, high = limits(field)
        assert low < high
        assert field.is_required() or field.default is None or low <= field.default <= high, (steps, name)


def test_every_field_says_what_it_is_and_how_to_measure_it():
    for steps, model in all_tables():
        assert model.__doc__ and model.__doc__.endswith(".")
        for name, field in model.model_fields.items():
            if inner_table(field) is field.annotation:
                continue
            assert field.description and extra(field, "measure"), (steps, name)
            if "float" in str(field.annotation) and "tuple" not in str(field.annotation):
                assert extra(field, "unit") and extra(field, "why"), (steps, name)
                assert limits(field)[0] is not None, (steps, name)


def test_examine_leaves_its_data_alone():
    data = full_data()
    before = deepcopy(data)
    assert examine(data)[0] is not None and data == before
