"""Everything that holds a wagon together: on the bill as often as the solids have holes for it, named by the steps, in
an order that hands can follow; mounts that fit what they hold."""

import re
from collections import Counter
from math import pi

import pytest
from conftest import DEMO, described
from msgspec.structs import replace
from plans import cured, train_of
from shapely import LinearRing, Polygon
from solids import as_body

from partgen import parts
from partgen.checks import on_plan
from partgen.describe.load import load
from partgen.paper.assembly import steps
from partgen.paper.bill import bill, tools
from partgen.plan.fasteners import fasteners
from partgen.plan.printed import printed_mass
from partgen.plan.train import resolve
from partgen.solids.mesh import mesh_of

MIXED = {"wagon": "modules = ['board', 'cell', 'port', 'tray', 'chip']\nlevels = 2\nlights = 'lamps'\n"
                  "wires = [['board', 'cell']]\ncups = ['tea']",
         "module": """[module.board]
length = 40
width = 30
height = 10
mass = 20
mount = "bosses"
hole = 3.2
holes = [[15, 11], [-15, -11]]
[module.cell]
length = 60
width = 26
height = 18
mass = 50
mount = "strap"
carries = true
[module.port]
length = 20
width = 14
height = 8
mass = 4
mount = "tape"
[module.tray]
length = 24
width = 20
height = 8
mass = 4
[module.chip]
length = 24
width = 17.5
height = 7
mass = 5
lies_on_top = true
plug_room = 0"""}


def plain_demo():
    """The demo without letters, which take the kernel longer than all the rest."""
    demo = load(DEMO)
    return resolve(demo.model_copy(update={"wagon": tuple(w.model_copy(update={"plate": ""}) for w in demo.wagon)}))


def holes(mesh, z, area):
    """How many holes of about that area [mm2] a level section at z [mm] has: rings that turn clockwise."""
    rings = as_body(mesh).slice(z).to_polygons()
    return sum(abs(Polygon(ring).area / area - 1) < 0.12 for ring in rings if not LinearRing(ring).is_ccw)


def found_in(plan):
    """What the holes of a wagon's solids ask for, counted on their meshes: cores and nut pockets for screws, slots for
    straps, pockets for magnets."""
    def disc(diameter):
        return pi / 4 * diameter**2

    found, frame, body = Counter(), plan.frame, plan.body
    for item in plan.items:
        if item.part not in ("frame", "body", "lid", "cradle", "clamp-bar", "coupler", "sensor-holder"):
            continue
        mesh, of = mesh_of(parts.build(item.part, item.plan)), item.plan
        if item.part == "frame":
            found["cores"] += holes(mesh, of.top - 2.0, disc(of.core))
            pivots = holes(mesh, frame.seats[0].spigot_bottom + 1.5, disc(frame.seats[0].core))
            found["cores"] += pivots
            found["washers"] += pivots
        elif item.part == "body":
            found["passed"] += holes(mesh, of.bottom + 0.7, disc(of.screw_hole))
            if of.fittings.bosses:
                found["cores"] += holes(mesh, body.bottom + body.floor + 2.0, disc(of.fittings.bosses[0].core))
            found["slots"] += holes(mesh, body.bottom + body.floor - 0.3, 10.4 * 2.2 - (4 - pi) * 0.8**2)
        elif item.part == "lid" and of.screws:
            found["cores"] += holes(mesh, of.bottom - 2.0, disc(of.core))
        elif item.part == "cradle":
            found["passed"] += holes(mesh, of.bottom + 0.4, disc(of.screw_hole))
        elif item.part == "clamp-bar":
            found["nuts"] += item.count * holes(mesh, of.height - 0.5, 0.866 * of.nut**2)
        elif item.part == "sensor-holder":      # its screw's washer bears on the lug
            slid = holes(mesh, of.screw_z + of.screw_hole / 2 + 0.4, of.nut * of.nut_deep)
            found["nuts"] += slid
            found["washers"] += slid
        elif item.part == "coupler":
            found["magnets"] += item.count * holes(mesh, 0.0, of.magnet_hole * of.magnet_slot)
    return found


@pytest.mark.slow
def test_the_bill_holds_what_the_holes_of_the_solids_ask_for():
    train = plain_demo()
    asked, lines = sum((found_in(plan) for plan in train.wagons), Counter()), Counter()
    for line in bill(train):
        lines[line.what] += line.count
    assert lines["socket head screw"] + lines["countersunk screw"] == asked["cores"] + asked["nuts"]
    assert lines["nut"] == asked["nuts"] > 0 and lines["washer"] == asked["washers"] > 0
    assert lines["disc magnet, axially magnetised"] == asked["magnets"] > 0
    assert lines["drop of glue"] == asked["magnets"] + lines["disc magnet, for the locomotive"]
    assert 2 * lines["hook-and-loop strap"] == asked["slots"] > 0
    # Every core of frame and lid has its countersunk screw through body or cradle; in the open wagon one through both.
    both = sum(4 for plan in train.wagons if plan.laid_in)
    assert lines["countersunk screw"] == asked["passed"] - both > 0


@pytest.mark.parametrize("train", [lambda: resolve(load(DEMO)), lambda: resolve(described(**MIXED))],
                         ids=["demo", "mixed"])
def test_steps_name_every_thing_of_the_bill_as_often_as_it_is_there(train):
    train = train()
    told, lines = steps(train), bill(train)
    said = Counter()
    for step in told:
        for count, size in re.findall(r"(\d+) x (M[\d.]+ x \d+ mm \([^)]*\))", step.text):
            said[size] += int(count) * len(step.wagons)
        for count, what in re.findall(r"(\d+) (nut|washer)s?\b", step.text):
            said[what] += int(count) * len(step.wagons)
    bought = Counter()
    for line in lines:
        if line.shelf == "fasteners":
            bought[f"{line.size} ({line.standard})" if "screw" in line.what else line.what] += line.count
    assert said == bought
    text = " ".join(step.text for step in told)
    words = {"hook-and-loop strap": "hook-and-loop strap", "double-sided tape": "double-sided tape",
             "self-adhesive felt": "felt on", "drop of glue": "drop of glue", "lead": "Lead a wire",
             "end of a lead": "plug or ferrule", "cable tie": "cable tie", "lamp, low voltage": "lamps into",
             "pair of thin wires": "black wire", "terminal": "into one terminal",
             "bar of wood or metal and the screw it turns on, for the locomotive": "make a bar of wood or metal"}
    held = [line.what for line in lines if line.shelf == "mounts" or line.what.startswith("lamp")]
    assert held and all(words[what] in text for what in held)
    for line in lines:
        if line.what == "hook-and-loop strap":
            assert line.size.split(" x ")[1] in text


def test_tools_are_those_of_the_screws_and_of_what_the_steps_do(demo):
    """Hexagon sockets of ISO 4762 M3: 2.5 mm, of ISO 10642 M3: 2 mm; M2 countersunk, ISO 7046, cross No. 0 (from
    memory). A wagon without wires or sensor takes neither iron nor glue gun."""
    train = resolve(demo)
    found = tools(train)
    assert {"hexagon key 2 mm", "hexagon key 2.5 mm", "compass", "scissors", "hot-melt glue gun"} <= set(found)
    assert any("soldering iron" in tool for tool in found) and len(found) == len(set(found))
    plain = tools(resolve(described(wagon="cups = ['tea']\nscrew = 'M2'")))
    assert {"hexagon key 1.5 mm", "cross-head screwdriver, size 0"} <= set(plain)
    assert not any("solder" in tool or "glue gun" in tool or "hacksaw" in tool for tool in plain)
    lit = MIXED | {"wagon": MIXED["wagon"].replace("lamps", "strip")}
    dark = MIXED | {"wagon": MIXED["wagon"].replace("lamps", "none")}
    irons = [[tool for tool in tools(resolve(described(**lines))) if "solder" in tool] for lines in (MIXED, lit, dark)]
    assert irons == [["soldering iron", "solder"]] * 2 + [["soldering iron or crimping pliers"]], "named once"
    assert not {"blade", "dry cloth"} & set(found)
    assert "vice" in tools(resolve(described(wheelset="printed = true")))
    # A card keeps the nuts in while the frame is turned over; a coin opens the lid, where there is one
    assert {"stiff card", "coin"} <= set(found) and "stiff card" in plain and "coin" not in plain
    for step in steps(train):
        assert "coin" not in step.text or "coin" in step.tools


def test_what_is_cut_soldered_and_pressed_has_its_tools_and_small_washers_no_standard():
    """ISO 7093-1 has no washer under M3 (from memory): smaller ones go by their figures alone."""
    for lines in (MIXED, MIXED | {"wagon": MIXED["wagon"].replace("lamps", "strip")}):
        train = resolve(described(**lines))
        assert {"side cutters", "wire strippers", "solder"} <= set(tools(train))
    for step in steps(resolve(described(wheelset="printed = true"))):
        assert ("scraps of wood" in step.text) == ("scraps of wood" in step.tools)
    for screw, standard in (("M2", ""), ("M2.5", ""), ("M3", "ISO 7093-1")):
        washers = {line.standard for line in bill(resolve(described(wagon=f"screw = '{screw}'")))
                   if line.what == "washer"}
        assert washers == {standard}


def test_filament_is_on_the_bill_by_colour_as_heavy_as_the_parts_weigh_printed(demo):
    """Rounded up to 10 g a colour; one spool is one line."""
    for spools in (1, 4):
        train = resolve(demo.model_copy(update={"printer": demo.printer.model_copy(update={"spools": spools})}))
        lines = [line for line in bill(train) if " filament, " in line.what]
        grams = sum(printed_mass(item.plan, demo.printer) * item.count for plan in train.printed for item in plan.items)
        total = sum(int(line.size.split()[1]) for line in lines)
        assert grams <= total < grams + 10 * len(lines) and (len(lines) == 1) == (spools == 1)


def test_lights_are_fed_from_the_wagons_own_battery_behind_its_fuse():
    """Wires of one colour that meet there are counted by hand: two strips' (or the lamps'), the battery's other pair,
    and that from the fuse."""
    for lights in ("strip", "lamps"):
        cell = "[module.cell]\nlength = 60\nwidth = 30\nheight = 20\nmass = 90\nbattery = true"
        train = resolve(described(module=cell, wagon=f"modules = ['cell']\nlights = '{lights}'"))
        count = (len(train.wagons[0].body.fittings.lamps) or 2) + 2
        step, = (step for step in steps(train) if f"all {count} red wires go into one terminal" in step.text)
        assert "to cell, behind its fuse, red to plus" in step.text
        assert ("light-strip" in step.new) == ("the fuse is out till then" in step.text) == (lights == "strip")
        line, = (line for line in bill(train) if line.what == "terminal")
        assert line.count == 2 and f"for {count} thin wires" in line.size
        assert "out to what else it feeds" in " ".join(step.text for step in steps(train))


def test_a_battery_is_bought_with_its_fuse_and_strips_with_their_wires(demo):
    train = resolve(demo)
    fuse, = (line for line in bill(train) if "fuse" in line.what)
    assert fuse.count == 1 and "slim power bank" in fuse.use and "its sheet" in fuse.size
    assert "Put the fuse into the lead from bank to what it feeds" in " ".join(step.text for step in steps(train))
    lit = resolve(described(wagon="modules = ['box']\nlights = 'strip'"))
    wires, = (line for line in bill(lit) if line.what == "pair of thin wires")
    plan, = lit.wagons
    assert wires.count == 2 and int(wires.size.split()[-2]) > plan.body.top - plan.body.bottom + plan.width
    ends, = (line for line in bill(lit) if line.what == "end of a lead")
    assert ends.count == 4 * wires.count, "red and black"
    assert not any("fuse" in line.what for line in bill(lit))
    said, = (step.text for step in steps(lit) if step.title == "one: light strips")
    assert "(at its middle on the left and at its middle on the right)" in said or "(0 mm" not in said
    assert [sum("Leads from wagon to wagon" in step.text for step in steps(one)) for one in (train, lit)] == [1, 0]


@pytest.mark.parametrize("lines", [{}, MIXED])
def test_steps_speak_only_of_what_is_there(lines):
    train = resolve(described(**{"wagon": "modules = ['box']"} | lines))
    plan, text = train.wagons[0], " ".join(step.text for step in steps(train))
    fitted = plan.body.fittings
    assert ("gaps in the fences" in text) <= bool(plan.body.fences and plan.layout.wires)
    assert ("cable tie" in text) <= bool(plan.body.eyes)
    assert ("strap" in text) == bool(fitted.straps) and ("bosses" in text) == bool(fitted.bosses)
    assert ("tape" in text) == any(pad.what == "tape" for pad in fitted.pads)
    assert ("felt" in text) == bool(fitted.lips) and ("lamps" in text) == bool(fitted.lamps)
    assert ("face their openings" in text) == bool(plan.layout.cutouts)


def test_a_strap_goes_in_before_the_frame_closes_its_way():
    titles = [step.title for step in steps(resolve(described(**MIXED)))]
    through, closed, laid = (next(k for k, title in enumerate(titles) if word in title)
                             for word in ("straps", "body onto", "electronics"))
    assert through == closed - 1 and closed < laid


def test_a_strap_goes_round_its_module_with_a_lap():
    """Once round 26 x 18 mm and the floor's 2.4 mm, 1 mm off on either side, and 30 mm on itself, up to a whole ten."""
    strap, = resolve(described(**MIXED)).wagons[0].body.fittings.straps
    least = 2 * (26 + 2 * 1.0) + 2 * (18 + 2.4) + 30
    assert least <= strap.length <= least + 15 and strap.length % 10 == 0


# What does not fit is told, and how it fits

BOX = {"length": 60, "width": 30, "height": 18, "mass": 40}
BOSSES = {"mount": "bosses", "holes": [[20, 10]]}
BELOW = {"plugs": ["bottom"], "plug_room": 4}


@pytest.mark.parametrize("bad, good, why", [
    (BOSSES | {"hole": 1.9}, BOSSES | {"hole": 2.1}, "drilled to 2.1 mm"),
    (BOSSES | {"hole": 5.3}, BOSSES | {"hole": 5.0}, "does not cover"),
    ({"mount": "strap", "length": 9, "width": 8}, {"mount": "strap", "length": 10, "width": 8}, "than its strap"),
    ({"mount": "tape", "mass": 274}, {"mount": "tape", "mass": 269}, "tape too few"),
    (BELOW, BELOW | BOSSES, "for its plug below")], ids=["drill", "head", "strap", "tape", "below"])
def test_a_mount_that_does_not_fit_is_told_with_what_does(bad, good, why):
    """57 x 27 mm of tape hold 270 g by 4 square inches a pound (from memory, makers of foam tape)."""
    told, cured = (_mounted(BOX | lines) for lines in (bad, good))
    assert told.verdict == "fail" and why in told.reason and cured.verdict == "pass"


def _mounted(module):
    train = train_of({"modules": ["box"]}, module={"box": module})
    return next(finding for finding in on_plan.run(train, only={"mount-fit"}) if finding.check == "mount-fit")


def test_bosses_raised_as_found_hold_their_screws():
    low = BOX | BOSSES | {"hole": 3.2, "standoff": 3.0}
    train = train_of({"modules": ["box"]}, module={"box": low})
    told = cured(train, "grip")["module.box.standoff"]
    raised = train_of({"modules": ["box"]}, module={"box": low | {"standoff": told}})
    assert {finding.verdict for finding in on_plan.run(raised, only={"grip"})} == {"pass"}


@pytest.mark.parametrize("screw", ["M2", "M2.5", "M3"])
@pytest.mark.parametrize("cups", [[], ["tea"]])
def test_the_longest_screw_of_its_length_comes_through_nowhere(screw, cups):
    """Half of IT15 by length (js15, ISO 286-1, from memory), and 0.1 mm."""
    train = train_of({"screw": screw, "cups": cups})
    half = {size: 0.5 * it for sizes, it in ((range(7), 0.48), (range(7, 11), 0.58), (range(11, 19), 0.7),
                                             (range(19, 31), 0.84), (range(31, 51), 1.0)) for size in sizes}
    assert min(one.spare - half[one.length] for plan in train.wagons for one in fasteners(plan)) >= 0.1 - 1e-9
    assert {finding.verdict for finding in on_plan.run(train, only={"grip"})} == {"pass"}


def test_a_screw_that_ends_under_the_frames_face_itself_fails_the_grip():
    train = train_of({"screw": "M2"})
    plan = train.wagons[0]
    tips = {one.spare for one in fasteners(plan) if one.what == "axle holder"}
    thin = replace(plan, frame=replace(plan.frame, top=plan.frame.top - min(tips)))
    failing = [finding for finding in on_plan.run(replace(train, wagons=(thin,)), only={"grip"})
               if finding.verdict == "fail"]
    assert [finding.subject.part for finding in failing] == ["axle holder"] and 0.34 <= failing[0].limit < 0.6
