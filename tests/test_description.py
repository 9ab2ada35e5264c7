"""The loader: sound files load, every fault is named at once with its path, nothing ends in a traceback."""

import re
import tomllib
from datetime import date
from pathlib import Path
from unicodedata import normalize

import pytest
from conftest import bare, defaults_used, described

from partgen.checks.hangs import hanging
from partgen.checks.on_plan import run
from partgen.describe.edits import Edit, rewritten
from partgen.describe.load import digest, digest_as_given, load, loads
from partgen.describe.wording import did_you_mean, key_text, path_text, printable, stands, value_text
from partgen.errors import DescriptionError, Fault
from partgen.plan.train import resolve

DEMO = Path(__file__).parents[1] / "presets" / "reading-room.toml"
TEXT = DEMO.read_text(encoding="utf-8")


def faults_of(text):
    """Return the messages by path, after making sure that none is said twice."""
    with pytest.raises(DescriptionError) as caught:
        loads(text, "x.toml")
    assert len(set(caught.value.faults)) == len(caught.value.faults)
    return {fault.path: fault.message for fault in caught.value.faults}


def changed(*changes, text=TEXT):
    for old, new in changes:
        assert text.count(old) >= 1, old
        text = text.replace(old, new, 1)
    return text


# ---- what loads ------------------------------------------------------------------------------

def test_demo_loads_with_presets_under_its_own_values():
    train = load(DEMO)
    assert train.invented and [wagon.name for wagon in train.wagon] == ["controls", "cups", "pantry"]
    assert (train.track.gauge, train.track.min_radius) == (37.5, 320)      # from the preset
    assert [band.half_width for band in train.track.clearance] == [45, 62]  # from the file, over the preset


def test_what_the_file_says_wins_over_its_preset():
    train = loads(changed(('use = "toy-37.5"  ', 'use = "toy-37.5"\nmin_radius = 300 ')))
    assert (train.track.gauge, train.track.min_radius) == (37.5, 300)


def test_defaults_are_told_apart_from_given_and_preset_values():
    left_out = defaults_used(load(DEMO))
    assert left_out["wagon[1].wall"] == 2.0 and left_out["coupler.gap"] == 22.0
    assert "ride.sample_time" in left_out and "module.controller.heat" in left_out
    for told in ("track.gauge", "track.clearance", "ride.speed", "coupler.magnet_diameter",
                 "train.locomotive.mass", "wagon[1].wheelbase", "title"):
        assert told not in left_out


def test_the_report_tells_them_table_by_table():
    """Every value that stands for something, and once: those alike of several wagons share a row."""
    from partgen.report.page import usual
    description = load(DEMO)
    told = dict(usual(description))
    assert "twist 4" in told["track"].split(", ") and not any("track.plan" in tables for tables in told)
    assert "screw M3" in told["wagon[1], wagon[2], wagon[3]"] and "None" not in " ".join(told.values())
    rows = [f"{table}.{value.split()[0]}" for tables, values in told.items()
            for table in tables.split(", ") for value in values.split(", ")]
    assert len(rows) == len(set(rows)) and "track.rail_head" not in rows and "ride.gradient" in rows
    marked = {path for one in hanging(run(resolve(description)), description) for path in one.defaults}
    assert "ride.gradient" in marked <= set(rows)


def test_a_table_left_out_counts_as_all_defaults():
    left_out = defaults_used(loads(changed(("[ride]\nspeed = 250", "[ride] #"), ("stop_time = 1.0", "#"))))
    assert left_out["ride.speed"] == 250 and left_out["ride.stop_time"] == 1


def test_digest_follows_the_values_and_not_the_layout():
    train = load(DEMO)
    same = "\n".join(line.split("   #")[0] for line in TEXT.splitlines()).replace("= 250", "= 250.0")
    spelt_out = changed(('use = "bed-220"', "bed_x = 210\nbed_y = 210\nbed_z = 240\nnozzle = 0.4"))
    assert digest(loads(same)) == digest(loads(spelt_out)) == digest(train)
    assert re.fullmatch("[0-9a-f]{64}", digest(train))
    assert digest(loads(changed(("speed = 250", "speed = 251")))) != digest(train)
    cups = {name: train.cup[name] for name in reversed(train.cup)}
    assert digest(train.model_copy(update={"cup": cups})) != digest(train), "which number files of names alike"


def test_a_value_given_is_not_a_value_left_out():
    """Equal to the usual one it makes the same train, of which report and manifest say other things."""
    given, left = loads(bare(printer="snap_share = 0.9")), loads(bare())
    assert digest(given) == digest(left) and digest_as_given(given) != digest_as_given(left)
    assert digest_as_given(loads(bare())) == digest_as_given(left)


def test_wagons_are_counted_from_one():
    assert path_text("wagon", 0, "wheelbase") == "wagon[1].wheelbase"
    assert path_text("module", "a b", "plugs", 2) == 'module."a b".plugs[3]'


def test_keys_stand_in_quotes_where_toml_wants_them_and_are_cut():
    assert key_text("tea-glass_2") == "tea-glass_2" and key_text("") == '""' and key_text("ü") == '"ü"'
    assert key_text("a.b") == '"a.b"' and key_text("a" * 60) == "a" * 60
    assert key_text("a" * 61) == '"' + "a" * 55 + '..."'


@pytest.mark.parametrize("name", ["चाय", "cafe\u0301", "น้ำชา 2", "чай-b", "お茶_3"])
def test_a_cup_may_be_called_in_any_script(name):
    """Whichever way an accent is written: "café" in four letters and in five is one name (NFC, Unicode's annex 15)."""
    text = f'[cup."{name}"]\nuse = "tea-glass"\n[[wagon]]\nname = "two"\nwheelbase = 64\ncups = ["{name}"]\n'
    assert loads(bare() + text).wagon[1].cups == (normalize("NFC", name),)
    assert loads(bare() + text.replace(name, normalize("NFD", name), 1)) == loads(bare() + text)


def test_names_that_look_alike_are_one_name():
    twice = "".join(f'\n[[wagon]]\nname = "{name}"\nwheelbase = 64\n' for name in ("caf\u00e9", "cafe\u0301"))
    with pytest.raises(DescriptionError, match=r"name = 'caf\u00e9' is that of wagon\[1\]"):
        loads(bare().split("[[wagon]]")[0] + twice)
    with pytest.raises(DescriptionError, match="cannot declare"):
        loads(bare() + "".join(f'[cup."{name}"]\nuse = "tea-glass"\n' for name in ("caf\u00e9", "cafe\u0301")))
    file = bare().replace("[[wagon]]", '[cup."cafe\u0301"]\nuse = "tea-glass"\n[[wagon]]', 1)
    after = rewritten(file, [Edit(("cup", "caf\u00e9", "fill"), 31.0)])
    assert after == file.replace("[[wagon]]", "fill = 31.0\n[[wagon]]")
    with pytest.raises(DescriptionError) as found:
        loads(after.replace("31.0", "'full'"))
    assert [(fault.path, fault.line) for fault in found.value.faults] == [
        ('cup."caf\u00e9".fill', 1 + file.split("[[wagon]]")[0].count("\n"))]


@pytest.mark.parametrize("name", ["locomotive", "Track", "train"])
def test_no_wagon_is_called_as_we_call_something_else(name):
    with pytest.raises(DescriptionError, match=f"name = '{name}' is what we call it ourselves"):
        loads(bare().replace('name = "one"', f'name = "{name}"'))


def test_what_we_say_to_write_can_be_written():
    with pytest.raises(DescriptionError) as found:
        loads(bare() + '\n[[wagon]]\nname = "two"\nwheelbase = 64\ncups = ["\u5496\u5561"]\n')
    heading = re.search(r"add a table (\[.*?\])", str(found.value))[1]
    assert tomllib.loads(heading) == {"cup": {"\u5496\u5561": {}}}


@pytest.mark.parametrize("name", ["\u0301a", "a/b", "", " a", "a" * 41])
def test_no_cup_is_called_by_an_accent_alone_or_by_no_letter(name):
    with pytest.raises(DescriptionError, match="is no good name"):
        loads(bare() + f'[cup."{name}"]\nuse = "tea-glass"\n')


@pytest.mark.parametrize("key", ["чай два", "お茶 🫖", 'a"b\\c', "a\nb", "\u202eb c", "\U000e0041 b", "चाय"])
def test_keys_in_any_script_read_as_they_were_written(key):
    shown = key_text(key)
    assert tomllib.loads(f"{shown} = 1") == {key: 1} and shown.isprintable()
    assert all(letter in shown for letter in key if letter.isprintable() and letter not in '"\\')


@pytest.mark.parametrize("value, text", [
    (True, "true"), (False, "false"), (3, "3"), (-2.5, "-2.5"), (1 / 3, "0.3333333333"), (10**15 - 1, "1e+15"),
    (999_999_999, "999999999"), (10**15, "1e15 or so"), (-10**21, "-1e21 or so"), ("it", "'it'"),
    ("x" * 58, "'" + "x" * 58 + "'"), ("x" * 59, "'" + "x" * 55 + "...'"), ("x" * 4000, "'" + "x" * 55 + "...'"),
    ((1,), "a list of one entry"), ((), "a list of no entries"), ((1, 2, 3), "a list of 3 entries"), ({}, "a table"),
    (date(2024, 1, 2), "a date or time")])
def test_values_as_a_maker_would_write_them(value, text):
    assert value_text(value) == text
    plain = isinstance(value, (int, float, str))
    assert stands("gauge", value) == (f"gauge = {text}" if plain else f"gauge is {text}")


def test_the_nearest_word_is_offered_or_some_of_all():
    known = [f"preset-{letter}" for letter in "abcdefghijklmnopqrstuv"]
    assert did_you_mean("preset-a2", known) == "; did you mean preset-a?"
    assert did_you_mean("xyz", known[:20]) == f" (there are: {', '.join(known[:20])})"
    assert did_you_mean("xyz", known) == f" (there are: {', '.join(known[:20])}, ...)"
    assert did_you_mean("xyz", []) == " (there are: none)"
    assert printable("a\x1bb\u202ec") == "a?b?c"


# ---- eight faults, planted -------------------------------------------------------------------

def test_eight_planted_faults_are_the_eight_reported():
    text = changed(
        ("[track]\n", "[track]\ngauge = -3\n"),
        ("[wheelset.standard]\n", "[wheelset.standard]\nwidth = \"wide\"\n"),
        ("height = 13", "hieght = 13"),
        ('use = "bed-220"', 'use = "bed-220"\nlayer = nan'),
        ('use = "power-bank-slim"', 'use = "power-bank-slin"'),
        ('name = "controls"', 'name = "controls"\nsides = "planket"'),
        ('cups = ["espresso", "espresso"]', 'cups = ["espresso", "expresso"]'),
        ('wheelbase = 70\nmodules = ["bank"', 'modules = ["bank"'))
    found = faults_of(text)
    assert set(found) == {
        "track.gauge", "wheelset.standard.width", "coupler.hieght", "printer.layer", "module.bank.use",
        "wagon[1].sides", "wagon[2].cups", "wagon[3].wheelbase"}
    assert found["track.gauge"].startswith("gauge = -3 mm is outside 6 to 130 mm: smaller gauges need finer")
    assert "a number in mm belongs there" in found["wheelset.standard.width"]
    assert "did you mean height?" in found["coupler.hieght"]
    assert found["printer.layer"].startswith("layer = nan mm is outside 0.06 to 0.6 mm")
    assert "did you mean power-bank-slim?" in found["module.bank.use"]
    assert "planked, panelled, plain; did you mean planked?" in found["wagon[1].sides"]
    assert "did you mean espresso?" in found["wagon[2].cups"]
    assert found["wagon[3].wheelbase"].startswith("wheelbase is missing: axle to axle of a rigid frame")


# ---- values that are no good -----------------------------------------------------------------

RIDE = "speed = 250 "
TEAS = 'cups = ["tea", "tea"]'
GLASS = 'use = "tea-glass"\n'
BAD_VALUES = [
    ((RIDE, "speed = nan "), "ride.speed", r"speed = nan mm/s is outside 10 to 3000 mm/s: .*Stopwatch"),
    ((RIDE, "speed = -inf "), "ride.speed", r"speed = -inf mm/s is outside 10 to 3000 mm/s"),
    ((RIDE, "speed = 1e308 "), "ride.speed", r"speed = 1e\+308 mm/s is outside"),
    ((RIDE, f"speed = 1{'0' * 900} "), "ride.speed", r"speed = 1e900 or so mm/s is outside"),
    ((RIDE, f"speed = 0x{'f' * 1800} "), "ride.speed", r"speed = 1e21\d\d or so mm/s is outside"),
    ((RIDE, 'speed = "250" '), "ride.speed", r"speed = '250', but a number in mm/s belongs there: run"),
    ((RIDE, "speed = true "), "ride.speed", r"speed = true, but a number in mm/s belongs there"),
    ((RIDE, "speed = 2024-01-01 "), "ride.speed", r"speed is a date or time, but a number in mm/s belongs"),
    ((RIDE, "speed = [250] "), "ride.speed", r"speed is a list of one entry, but a number in mm/s belongs"),
    ((RIDE, "speed = { mm = 250 } "), "ride.speed", r"speed is a table, but a number in mm/s belongs there"),
    ((RIDE, "sped = 250 "), "ride.sped", r"sped is unknown here; did you mean speed\?"),
    ((RIDE, 'us = "gentle" '), "ride.us", r"^us is unknown here; did you mean use\?"),
    (('name = "cups"', 'name = "cups"\nusee = "x"'), "wagon[2].usee", r"^usee is unknown here \(known: name, wheels"),
    ((TEAS, f'cups = ["{"x" * 41}"]'), "wagon[3].cups[1]", r"is longer than 40 letters"),
    ((RIDE, "gauge = 250 "), "ride.gauge", r"gauge is unknown here; it belongs under \[track\]"),
    ((RIDE, "zzz = 250 "), "ride.zzz", r"zzz is unknown here \(known: speed, stop_time, start_time, "),
    ((RIDE, '"a\\u001b[31m" = 1 '), 'ride."a\\u001b[31m"', r"unknown here"),
    ((RIDE, 'use = "swift" '), "ride.use", r"no ride preset .* 'swift' \(there are: gentle, lively\)"),
    ((RIDE, "use = 3 "), "ride.use", r"use = 3, but the name of a preset belongs there"),
    (("[train.locomotive]", 'use = "x"\n[train.locomotive]'), "train.use", r"there are no presets for train"),
    (("mass = 620", "mass = 9"), "train.locomotive.mass", r"mass = 9 g is outside 10 to 10000 g"),
    (("high = 30,", 'high = "x",'), "track.clearance[1].high", r"high = 'x', but a number in mm belongs"),
    (("low = 30,", "lo = 30,"), "track.clearance[2].lo", r"^lo is unknown here; did you mean low\?"),
    (("invented = true", "invented = 1"), "invented", r"invented = 1, but true or false belongs there"),
    (("invented = true", "invnted = true"), "invnted", r"did you mean invented\?"),
    (('"Reading-room tea line"', '""'), "title", r"title = '' is empty"),
    (('"Reading-room tea line"', '"?!"'), "title", r"title = '\?!' names the output folder"),
    (('"Reading-room tea line"', f'"{"x" * 61}"'), "title", r"is longer than 60 letters"),
    (('"Reading-room tea line"', '"a\\nb"'), "title", r"holds a line break or a control character"),
    (("[ride]", "[[ride]]"), "ride", r"ride is a list of one entry, but \[ride\] belongs there"),
    (("[cup.tea]", "[[cup.tea]]"), "cup.tea", r"tea is a list of one entry, but \[cup.NAME\] belongs there"),
    (("[cup.tea]", '[cup."x\\u0000"]\nuse = "tea-glass"\n[cup.tea]'), 'cup."x\\u0000"', r"up to 40 letters"),
    (("[wheelset.standard]", '[wheelset."a\\nb"]\nuse = "toy-37.5"\nwidth = 3.8\n[wheelset.standard]'),
     'wheelset."a\\nb"', r"'a\\nb' is no good name"),
    ((TEAS, 'cups = ["tea", 3]'), "wagon[3].cups[2]", r"cups\[2\] = 3, but text in quotes belongs"),
    ((TEAS, 'cups = "tea"'), "wagon[3].cups", r"cups = 'tea', but a list in square brackets belongs"),
    ((GLASS, f"{GLASS}profile = [[0, 40]]\n"), "cup.tea.profile", r"at least 2"),
    ((GLASS, f"{GLASS}profile = [[0, 40], [50]]\n"), "cup.tea.profile[2][2]", r"missing"),
    ((GLASS, f"{GLASS}profile = [[0, 40], [50, 60, 70]]\n"), "cup.tea.profile[2]", r"at most 2"),
    ((GLASS, f"{GLASS}profile = [[0, 40], [50, nan]]\n"), "cup.tea.profile[2][2]",
     r"profile\[2\]\[2\] = nan mm cannot be measured"),
    (('use = "motor-driver"', 'use = "motor-driver"\nplugs = ["up"]'), "module.driver.plugs[1]",
     r"plugs\[1\] = 'up', not one of front, back, left, right, top, bottom"),
    (("height = 13", "height = 13\nlayout = 7"), "coupler.layout", r"layout = 7, not one of pair, single"),
]


@pytest.mark.parametrize("change, path, words", BAD_VALUES,
                         ids=[f"{path} {new[-20:]!r}" for (_, new), path, _ in BAD_VALUES])
def test_bad_value_is_the_one_fault_and_says_what_belongs_there(change, path, words):
    found = faults_of(changed(change))
    assert set(found) == {path}
    assert re.search(words, found[path]) and found[path].isprintable() and len(found[path]) < 400


def test_missing_tables_are_named_and_nothing_follows_from_them():
    assert set(faults_of('title = "x"\n')) == {"track", "wheelset", "wagon"}
    found = faults_of(TEXT.replace("[wheelset.standard]", "[wheelset]").replace("[[wagon]]", "[[wagons]]"))
    assert set(found) == {"wheelset.use", "wheelset.flange_angle", "wagons"}
    assert "write [wheelset.standard] above it" in found["wheelset.use"]
    assert faults_of("wagon = []\ntrack = 3\nwheelset = 4\n").keys() == {"track", "wheelset", "wagon"}
    assert "write [wheelset.standard]" in faults_of("wagon = []\nwheelset = {}\n")["wheelset"]
    emptied = re.sub(r"(?s)\[module.controller\].*\[cup.espresso\]", "[module]\n[cup.espresso]", TEXT)
    assert set(faults_of(emptied)) == {"wagon[1].modules", "wagon[3].modules"}
    assert "[[wagon]]" in faults_of(re.sub(r"(?s)\[\[wagon\]\].*", "[wagon]\n", TEXT))["wagon"]


@pytest.mark.parametrize("values", ['["a"' + ',\n"a"' * 9_999 + "]", "[1" + ",\n1" * 9_999 + "]",
                                    "[[]" + ",\n[]" * 9_999 + "]"], ids=["names", "numbers", "lists"])
def test_ten_thousand_entries_are_one_fault(values):
    found = faults_of(changed(('cups = ["tea", "tea"]', f"cups = {values}")))
    assert found["wagon[3].cups"].startswith("cups is a list of 10000 entries, but it takes at most 40")
    assert set(found) == {"wagon[3].cups"}


def test_ten_thousand_tables_or_keys_are_one_fault():
    assert set(faults_of(TEXT + "\n[[wagon]]\nx = 1" * 10_000)) == {"wagon"}
    assert set(faults_of(TEXT + "".join(f"\n[module.m{n}]" for n in range(150)))) == {"module"}
    assert set(faults_of(TEXT + "".join(f"\n[module.m{n}]" for n in range(10_000)))) == {"module"}
    assert set(faults_of(TEXT + "".join(f"\nk{n} = 1" for n in range(10_000)))) == {"wagon[3]"}
    bands = "".join("\n[[track.clearance]]\nx = 1" for n in range(10_000))
    assert set(faults_of(TEXT.replace("clearance = [", "x = [") + bands)) == {"track.clearance", "track.x"}


def test_many_faults_are_all_kept_and_fifty_shown():
    text = TEXT + "".join(f"\n[module.m{number}]\nlength = -1\nwidth = 1\nheight = 1\nmass = 1"
                          for number in range(60))
    with pytest.raises(DescriptionError) as caught:
        loads(text)
    assert len(caught.value.faults) == 120      # length and width of each
    lines = str(caught.value).splitlines()
    assert len(lines) == 51 and lines[-1] == "... and 70 more: mend these first"


def test_a_fault_without_a_path_is_its_message():
    assert str(Fault("", "so")) == "so" and str(Fault("a.b", "so")) == "a.b: so"


def test_copy_with_another_value_is_another_key():
    """Tables know their hash; a changed copy must not keep it, and equal tables must share it."""
    one, same = described().track, described().track
    assert hash(one) == hash(same) and one == same
    other = one.model_copy(update={"min_radius": one.min_radius + 1})
    assert other != one and hash(other) == hash(one.model_copy(update={"min_radius": other.min_radius})) != hash(one)
