"""Edits of a description: each touches its value only, in the file and in data alike."""


from conftest import bare

from partgen.describe.edits import Edit, applied, edit_of, rewritten
from partgen.describe.lines import line_of, lines_of
from partgen.describe.load import examine, loads
from partgen.describe.toml_text import parsed


def test_an_edit_touches_its_value_only_and_adds_what_is_not_there():
    text = bare(wagon="wheelbase = 70  # mine").replace("wheelbase = 64\n", "") + "# end\n"
    edits = [Edit(("wagon", 0, "wheelbase"), 66.5), Edit(("ride", "speed"), 200.0),
             Edit(("train", "locomotive", "mass"), 500.0)]
    after = rewritten(text, edits)
    kept = [line for line in text.splitlines() if line and "wheelbase" not in line]
    assert [line for line in after.splitlines() if line in kept] == kept and "wheelbase = 66.5  # mine" in after
    described = loads(after)
    assert (described.ride.speed, described.train.locomotive.mass) == (200.0, 500.0)
    assert examine(applied(parsed(text, "text"), edits))[0] == described


def test_a_list_that_the_file_does_not_spell_out_is_replaced_whole():
    text = bare()
    described, data = loads(text), parsed(text, "text")
    edit = edit_of(data, described, ("track", "clearance", 0, "half_width"), 99.0)
    assert edit.path == "track.clearance"
    after = loads(rewritten(text, [edit]))
    assert after.track.clearance[0].half_width == 99.0
    assert after.track.clearance[1:] == described.track.clearance[1:]


def test_what_a_preset_gives_is_not_taken_out_by_leaving_a_line_out():
    text = bare(wagon="length = 120")
    described, data = loads(text), parsed(text, "text")
    assert edit_of(data, described, ("wagon", 0, "length"), None).value is None
    assert edit_of(data, described, ("track", "spacing"), None) is None


def test_a_value_is_found_on_its_line():
    text = """title = "Line"\r
[track]
use = "toy-37.5"   # preset
plan = [
  { go = "straight", length = 300 },
]
[cup."kleine Tasse"]
mass = 3
[[wagon]]
name = "a"
[[wagon]]
name = "b"
wheelbase = 70
"""
    lines = lines_of(text)
    assert {path: line_of(lines, path) for path in (
        "title", "track.plan[1].length", "track.gauge", 'cup."kleine Tasse".mass', "wagon[1].name",
        "wagon[2].wheelbase", "wagon[2].length", "printer.layer")} == {
            "title": 1, "track.plan[1].length": 4, "track.gauge": 2, 'cup."kleine Tasse".mass': 8, "wagon[1].name": 10,
            "wagon[2].wheelbase": 13, "wagon[2].length": 11, "printer.layer": 0}
