"""What the contributor's guide says to touch for something new, done to the letter in a copy: nothing else is asked."""

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from conftest import bare

ROOT = Path(__file__).parents[1]
COPIED = ("partgen", "presets", "tests", "README.md", "DEVELOPERS.md", "pyproject.toml")
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")

pytestmark = pytest.mark.slow


@pytest.fixture
def copy(tmp_path):
    """A copy of all that the package is made of, to be changed at will."""
    for name in COPIED:
        place = ROOT / name
        if place.is_dir():
            shutil.copytree(place, tmp_path / name, ignore=shutil.ignore_patterns("__pycache__", ".hypothesis"))
        else:
            shutil.copy(place, tmp_path / name)
    return tmp_path


def told(new):
    """What the guide's table says is to be touched."""
    [row] = re.findall(rf"^\| {new} \| (.*) \|$", GUIDE, re.MULTILINE)
    return row


def ran(copy, *words):
    return subprocess.run([sys.executable, "-m", *words], cwd=copy, text=True, capture_output=True,
                          env=os.environ | {"PYTHONPATH": str(copy), "PARTGEN_CACHE": str(copy / "known")})


def partgen(copy, *words):
    return ran(copy, "partgen", *words)


def holds(copy, *tests):
    """Run some of the copy's own tests in it."""
    done = ran(copy, "pytest", "-n", "0", "-q", "-x", "-p", "no:cacheprovider", *tests)
    assert done.returncode == 0, done.stdout[-3000:]


def insert(path, before, text):
    """Put text before the one place where `before` stands."""
    source = path.read_text(encoding="utf-8")
    assert source.count(before) == 1, f"{before!r} stands {source.count(before)} times in {path.name}"
    path.write_text(source.replace(before, text + before), encoding="utf-8")


def described(copy, *changes):
    """A description file like the demo's, with changes."""
    text = (copy / "presets" / "reading-room.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    file = copy / "mine.toml"
    file.write_text(text, encoding="utf-8")
    return file


@pytest.mark.parametrize("kind, table", [
    ("module", "[module.lamp]\nlength = 31\nwidth = 22\nheight = 9\nmass = 8\n"),
    ("track", "[track]\ngauge = 38.5\nmin_radius = 330\n")])
def test_a_preset_is_one_file(copy, kind, table):
    assert told("preset") == "one file `presets/<kind>/<name>.toml` with a `source` line"
    source = "measured with a caliper and a kitchen scale"
    (copy / "presets" / kind / "reading-lamp.toml").write_text(f'source = "{source}"\n\n{table}', encoding="utf-8")
    listed = json.loads(partgen(copy, "presets", "--json").stdout)["presets"]
    assert {"kind": kind, "name": "reading-lamp", "source": source} in listed
    assert table in partgen(copy, "presets", "reading-lamp").stdout
    if kind == "module":
        file = described(copy, ('use = "motor-driver"', 'use = "reading-lamp"'))
        assert partgen(copy, "check", file).returncode == 0
    holds(copy, "tests/test_presets.py", "tests/test_starter.py")


CHECK = '''

def axle_spread(train):
    """Hold the axles at least twice their wheels' diameter apart, so that a hand gets between them."""
    for plan in train.asked:
        limit = 2 * plan.wheelset.tread_diameter
        yield judge("axle-spread", plan.who, plan.wagon.wheelbase, limit, "min", "mm",
                    f"move the axles apart: wheelbase {plan.wagon.wheelbase:g} -> {limit:g} mm")
'''


def test_a_check_is_a_function_its_name_and_an_example_that_it_fails(copy):
    assert told("check on the plan") == (
        "one function in `partgen/checks/`, its name in `on_plan.PLAN_CHECKS` and its row in the README, plus an "
        "example in `tests/test_paper_checks.py` that it must fail, what of the description may mend it in "
        "`remedies/levers.py` or `options.py`, and on which measured fields it hangs in `checks/hangs.py`, as "
        "`python tests/hangs.py` finds")
    insert(copy / "partgen" / "remedies" / "levers.py", '    "bed": "', '    "axle-spread": "-wagon.wheelbase",\n')
    insert(copy / "README.md", "| `axle-load` |", "| `axle-spread` | how far the axles are apart |\n")
    wheels = copy / "partgen" / "checks" / "wheels.py"
    wheels.write_text(wheels.read_text(encoding="utf-8") + CHECK, encoding="utf-8")
    registry = copy / "partgen" / "checks" / "on_plan.py"
    insert(registry, "supply)\n", "axle_spread, ")
    insert(registry, "from partgen.plan.train import TrainPlan\n", "from partgen.checks.wheels import axle_spread\n")
    insert(copy / "tests" / "test_paper_checks.py", '    "bed": {', '    "axle-spread": {"wagon": "travel = 0",'
           ' "wheelset": "tread_diameter = 33\\nflange_diameter = 37", "track": "rail_height = 9"},\n')
    checked = json.loads(partgen(copy, "check", described(copy), "--json").stdout)["findings"]
    assert [f["verdict"] for f in checked if f["check"] == "axle-spread"] == ["pass"] * 3
    holds(copy, "tests/test_reached.py", "tests/test_layers.py", "tests/test_paper_checks.py", "tests/test_remedies.py",
          "-k", "axle-spread or reached or imports or sound_wagon or every_check")


FIELD = '''    cork: float = number(1.25, "mm", 0, 6, "thickness of cork between frame and body", "thicker cork rocks",
                         "caliper, pressed flat")
'''


def test_a_field_is_its_line_and_its_row(copy):
    assert told("field") == ("one line in its model under `partgen/describe/`: default, unit, range, why, how to "
                             "measure; its row in `tests/test_fields.py`, which states it a second time; where it is "
                             "measured, what hangs on it as above")
    insert(copy / "partgen" / "describe" / "wagon_tables.py", "    travel: float = number(", FIELD)
    insert(copy / "tests" / "test_fields.py", "Wagon.travel ", "Wagon.cork 1.25 0 6 mm a strip of cork\n")
    assert partgen(copy, "new", "start.toml").returncode == 0
    starter = (copy / "start.toml").read_text(encoding="utf-8")
    assert "#cork = 1.25" in starter and "Thickness of cork between frame and body (0 to 6 mm)." in starter
    refused = partgen(copy, "check", described(copy, ('name = "cups"', 'name = "cups"\ncork = 8')))
    assert refused.returncode == 2 and "cork = 8 mm is outside 0 to 6 mm: thicker cork rocks" in refused.stderr
    unknown = partgen(copy, "check", described(copy, ('name = "cups"', 'name = "cups"\ncorf = 1')))
    assert "did you mean cork?" in unknown.stderr
    asked = ("from partgen.describe.load import left_out, load\nfrom partgen.describe.starter import json_schema\n"
             "print(*{one.cork for at, one in left_out(load('presets/reading-room.toml')) if at[-1] == 'cork'},"
             " json_schema()['$defs']['Wagon']['properties']['cork']['maximum'])")
    (copy / "asked.py").write_text(asked, encoding="utf-8")
    assert ran(copy, "asked").stdout.split() == ["1.25", "6"]
    holds(copy, "tests/test_starter.py", "tests/test_clashes.py", "tests/test_fields.py", "-k", "not read_by_somebody")
    unread = ran(copy, "pytest", "-n", "0", "-q", "-p", "no:cacheprovider", "tests/test_fields.py")
    assert "Wagon.cork" in unread.stdout, "a field that nothing reads is told"
    assert re.findall("FAILED .*::(\\w+)", unread.stdout) == ["test_every_field_is_read_by_somebody"]


FORMULA = '''

def wheel_turns(way: Numbers, diameter: Numbers) -> Numbers:
    """How often a wheel turns on its way.

    n = s/(pi D)

    way: way s that it rolls [mm]
    diameter: diameter D of the tread [mm], above 0
    Returns the turns [1].

    >>> print(f"{wheel_turns(1000, 17):.2f}")
    18.72

    Source: CALC, a circle's circumference.
    """
    return way / (np.pi * np.asarray(diameter))
'''


def test_a_formula_is_a_function_with_its_datasheet(copy):
    assert told("formula") == ("one function in `partgen/formulas/<topic>.py`: units in brackets, a worked example, a "
                               "`Source:` line")
    wheel = copy / "partgen" / "formulas" / "wheel.py"
    wheel.write_text(wheel.read_text(encoding="utf-8") + FORMULA, encoding="utf-8")
    holds(copy, "tests/test_docstrings.py")
    alone = ran(copy, "pytest", "-n", "0", "-q", "-p", "no:cacheprovider", "tests/test_reached.py")
    assert "wheel_turns" in alone.stdout, "a formula that nothing asks is told"


STEP_PLAN = '''"""A footstep: a block under a body's side."""

from partgen.plan.item import PartPlan


class FootstepPlan(PartPlan, frozen=True):
    """A block of its own length, width and height [mm], standing on z = 0 about the z axis."""

    length: float = 21.0
    width: float = 5.0
    height: float = 7.0

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (self.length, self.width, self.height)

    @property
    def volume(self) -> float:
        """Volume [mm3]."""
        return self.length * self.width * self.height
'''
STEP_ITEM = '''    side = (plan.width + FootstepPlan().width) / 2 + 0.05
    yield Item("footstep", "footstep", FootstepPlan(), (Place(0.0, side, plan.body.bottom),
                                                        Place(0.0, -side, plan.body.bottom, 180.0)))
'''
STEP_DRAWING = '''"""The footstep, printed as it stands."""

from cadquery import Shape

from partgen.parts.shapes import rounded_box
from partgen.plan.footstep import FootstepPlan


def footstep(plan: FootstepPlan) -> Shape:
    """Return the block [mm]."""
    return rounded_box(plan.length, plan.width, 0.0, plan.height, 1.0, bevel_bottom=0.4)
'''
STEP_RECORD = '''    "footstep": Part(
        drawn_by="footstep.footstep", pose="upright", needs=("body",), colour=BRASS, apart=-0.5,
        bought=lambda plan: [Bought("glue", 1, "tube of glue", "20 g", "under the footsteps")],
        steps=lambda plan: [Step("footsteps", "Glue a footstep under either side.", {"footstep": -20.0})]),
'''


def test_a_part_is_its_plan_its_drawing_and_its_record(copy):
    assert told("part") == (
        "its plan in `partgen/plan/` (`volume` as drawn, `cores`: what walls and skins may leave hollow) with its "
        "`Item` in `plan/item.py` (`plan/trackside.py` where it belongs to no wagon), its drawing in "
        "`partgen/parts/`, its record in `parts.PARTS`")
    file = copy / "line.toml"
    file.write_text(bare(wagon="modules = ['box']"), encoding="utf-8")
    (copy / "partgen" / "plan" / "footstep.py").write_text(STEP_PLAN, encoding="utf-8")
    item = copy / "partgen" / "plan" / "item.py"
    insert(item, "    yield from _couplers(plan)\n", STEP_ITEM)
    item.write_text(item.read_text(encoding="utf-8").replace(
        "def items_of(plan: WagonParts) -> Iterator[Item]:\n", "def items_of(plan: WagonParts) -> Iterator[Item]:\n"
        "    from partgen.plan.footstep import FootstepPlan\n", 1), encoding="utf-8")
    missing = partgen(copy, "check", file)
    assert missing.returncode == 70 and "footstep has no record: give it one in PARTS" in missing.stderr
    records = copy / "partgen" / "parts" / "__init__.py"
    insert(records, '    "sensor-holder": Part(', STEP_RECORD)
    insert(records, "from partgen.parts.record import ", "from partgen.parts.record import Bought, Step\n")
    undrawn = partgen(copy, "check", file)
    assert undrawn.returncode == 70 and "no file footstep.py draws it" in undrawn.stderr
    (copy / "partgen" / "parts" / "footstep.py").write_text(STEP_DRAWING, encoding="utf-8")
    assert partgen(copy, "check", file).returncode == 0
    done = partgen(copy, "build", file, "-o", "out")
    assert done.returncode == 0, done.stderr + done.stdout
    footsteps_everywhere(copy / "out" / "test-line")
    holds(copy, "-m", "not slow", *(f"tests/test_{name}.py" for name in (
        "records", "layers", "reached", "assembly", "pieces", "trackside")))


def footsteps_everywhere(folder):
    """Two footsteps: in STL and STEP, on a plate, in the scene, in print order, bill, steps and pictures."""
    manifest = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
    [made] = [one for one in manifest["files"] if one["part"] == "footstep"]
    assert (made["count"], made["pose"], made["size_mm"]) == (2, "upright", [21.0, 5.0, 7.0])
    assert (folder / made["path"]).is_file() and (folder / "step" / "parts" / "footstep.step").is_file()
    assert (folder / "step" / "one.step").read_text().count("'footstep ") >= 2
    assert sum(one["holds"].get("footstep", 0) for one in manifest["files"] if one.get("plate")) == 2
    assert b"one/footstep 2" in (folder / "train.glb").read_bytes()
    assert ["footstep", 2, "one"] in [[row[key] for key in ("file", "count", "for")]
                                      for row in manifest["printing"]["print_order"]]
    assert ["tube of glue", 1] in [[line["what"], line["count"]] for line in manifest["bill_of_materials"]]
    titles = [step["title"] for step in manifest["assembly"]]
    assert titles.index("one: body onto the frame") < titles.index("one: footsteps") < titles.index("one: electronics")
    number = titles.index("one: footsteps") + 1
    assert {f"step-{number:02d}.png", "one-apart.png"} <= {path.name for path in (folder / "pictures").iterdir()}
