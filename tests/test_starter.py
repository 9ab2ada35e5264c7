"""The starter description: complete, sound as it is, read from the fields; and the schema beside it."""

import re
import tomllib
from pathlib import Path

import pytest
from conftest import defaults_used
from jsonschema import Draft202012Validator

from partgen.checks.on_plan import run
from partgen.describe import presets
from partgen.describe.description import KINDS, LISTED, NAMED, Description
from partgen.describe.field import extra, inner_table, limits, words
from partgen.describe.load import digest, loads
from partgen.describe.starter import DIALECT, START, json_schema, starter
from partgen.errors import DescriptionError
from partgen.plan.train import resolve

TEXT = starter()
PROSE = re.sub(r"\s*\n# ?", " ", TEXT)      # comments as running text
DEMO = Path(__file__).parents[1] / "presets" / "reading-room.toml"
README_EXAMPLE = re.search(r"```toml\n(.*?)```", (DEMO.parents[1] / "README.md").read_text(), re.S)[1]
INNER = [inner_table(field) for model in KINDS.values() for field in model.model_fields.values()]
MODELS = {**KINDS, **{inner.__name__: inner for inner in INNER if inner}}
FIELDS = [pytest.param(kind, name, field, id=f"{kind}.{name}") for kind, model in MODELS.items()
          for name, field in model.model_fields.items() if inner_table(field) is not field.annotation]


@pytest.mark.parametrize("text", [TEXT, README_EXAMPLE], ids=["starter", "README"])
def test_what_a_maker_begins_with_passes_every_paper_check(text):
    failing = [finding for finding in run(resolve(loads(text))) if finding.verdict == "fail"]
    assert not failing, failing


def test_starter_loads_as_it_is():
    train = loads(TEXT)
    assert train.title == "My train" and not train.invented and len(train.wagon) == 2
    assert train.wheelset["standard"].tread_diameter == presets.read("wheelset", "toy-37.5")["tread_diameter"]


def test_what_it_starts_with():
    train = loads(TEXT)
    assert [(wagon.name, wagon.wheelbase, wagon.modules, wagon.cups) for wagon in train.wagon] == [
        ("controls", 70, ("controller",), ()), ("pantry", 70, ("bank",), ("espresso", "tea"))]
    # a locomotive heavy enough and rough enough to start them up the floor's slope; all else is default or preset
    assert (train.train.locomotive.mass, train.train.locomotive.adhesion) == (600, 0.5)
    assert set(train.module) == {"controller", "bank"} and set(train.cup) == {"espresso", "tea"}


def test_taking_away_every_mark_changes_nothing():
    """Whatever is commented out shows the very default that holds without it."""
    spelt_out = re.sub(r"^#(\w+ = .+)$", r"\1", TEXT, flags=re.MULTILINE)
    assert spelt_out.count("\n#") < TEXT.count("\n#")
    assert digest(loads(spelt_out)) == digest(loads(TEXT))
    explained = [path for path in defaults_used(loads(spelt_out))
                 if not path.startswith(("wagon[2]", "module.bank", "cup.tea"))]
    # left out, they are the plan's choice or not there: no value to show
    assert set(explained) == {"wagon[1].length", "wagon[1].width", "wagon[1].height", "wagon[1].pivot_spacing",
                             "wagon[1].sensor_station", "track.spacing", "train.locomotive.coupler_height",
                             "train.locomotive.adaptor",
                             "ride.breakaway", "module.controller.current", "cup.espresso.volume",
                             "cup.espresso.full_mass",
                             "wheelset.standard.ring", "wheelset.standard.over_points"}


@pytest.mark.parametrize("kind, name, field", FIELDS)
def test_every_field_stands_in_it_with_its_range_and_how_to_measure_it(kind, name, field):
    assert re.search(rf"(^#?{name} =|\b{name}: )", TEXT, re.MULTILINE) or f" {name}: " in PROSE
    assert field.description in PROSE or field.description[0].upper() + field.description[1:] in PROSE
    if limits(field)[0] is not None:
        low, high = limits(field)
        assert f"({low:g} to {high:g} {extra(field, 'unit')})" in PROSE
    for word in words(field) if field.is_required() or isinstance(field.default, str) else ():
        assert word in PROSE
    if kind in KINDS or kind == "Locomotive":      # a list's entries are measured as the list says
        assert extra(field, "measure")[1:] in PROSE


@pytest.mark.parametrize("line", [
    "A title; the output folder is named after it (up to 60 letters). Your own words.",
    "Outer shape: [height, diameter] pairs from the foot upwards (2 to 24 entries in mm). Caliper at the foot,",
    "[lengthwise, across] from its middle, towards front and left (up to 12 entries in mm). Caliper from hole to hole",
    "Names of the cups on top, front to back (up to 40 entries). Choose.",
    "Does the plan end where it begins (true or false). Look.",
    "Look of the side walls (planked, panelled, plain). Choose.",
    'they come to lie near each other (up to 40 entries). Follow the cables. Such as ["controller", "driver"].',
    "bands of free room beside the track (up to 20 entries). low: lower edge of the band above rail top (-100 to",
])
def test_a_comment_says_what_it_is_what_it_takes_and_how_to_measure_it(line):
    assert line in PROSE


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_has_its_section_and_its_presets_are_named(kind):
    section = TEXT.split(f"# {kind.upper()}: ")[1].split(f"# {'-' * 40}")
    section = section[0] + section[1].rstrip("-")
    for name in presets.catalogue().get(kind, ()):
        assert re.search(rf"[ ,]{re.escape(name)}[,.\n]", section)
    heading = f"[[{kind}]]" if kind in LISTED else f"[{kind}." if kind in NAMED else f"[{kind}]"
    assert f"\n{heading}" in section and kind in {*(name.split(".")[0] for name in START), *LISTED}


def test_starter_is_pleasant_to_read():
    lines = TEXT.splitlines()
    assert max(map(len, lines)) <= 100 and len(lines) < 780 and TEXT.endswith("\n") and "\n\n\n" not in TEXT
    longest = run = 0
    for line in lines:
        run = run + 1 if line.startswith("# ") else 0
        longest = max(longest, run)
    assert longest <= 9      # no wall of text


def test_starter_from_a_demo_is_the_demo():
    assert starter("reading-room") == DEMO.read_text(encoding="utf-8")
    with pytest.raises(DescriptionError, match="did you mean reading-room"):
        starter("reading")


# ---- the schema ------------------------------------------------------------------------------------------

def test_schema_carries_every_range_unit_and_word():
    schema = json_schema()
    assert schema["$schema"] == DIALECT == "https://json-schema.org/draft/2020-12/schema"
    for model in MODELS.values():
        definition = schema["$defs"][model.__name__]
        assert definition["additionalProperties"] is False
        for name, field in model.model_fields.items():
            entry = definition["properties"][name]
            bounds = entry["anyOf"][0] if "anyOf" in entry else entry
            if limits(field)[0] is not None:
                assert (bounds["minimum"], bounds["maximum"]) == limits(field)
                assert entry["unit"] == extra(field, "unit") and f"[{entry['unit']}]" in entry["description"]
                assert entry["why"] and extra(field, "measure") in entry["description"]


def test_schema_offers_the_presets():
    definitions = json_schema()["$defs"]
    for kind, names in presets.catalogue().items():
        assert definitions[KINDS[kind].__name__]["properties"]["use"]["anyOf"][0]["enum"] == list(names)
    assert {"required": ["use"]} in definitions["Track"]["anyOf"] and "required" not in definitions["Track"]
    assert "use" not in definitions["Wagon"]["properties"]


@pytest.mark.parametrize("text", [TEXT, DEMO.read_text(encoding="utf-8")], ids=["starter", "demo"])
def test_schema_accepts_what_the_loader_accepts_and_refuses_a_fault(text):
    validator = Draft202012Validator(json_schema())
    validator.check_schema(validator.schema)
    data = tomllib.loads(text)
    assert not list(validator.iter_errors(data))
    data["ride"]["speed"] = -3
    data["coupler"]["hieght"] = 13
    assert len(list(validator.iter_errors(data))) == 2


def test_description_itself_has_no_number_outside_its_tables():
    assert all(limits(field)[0] is None for field in Description.model_fields.values())
