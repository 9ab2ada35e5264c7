"""Steps that leave nothing out, in the order of work, and their pictures."""

import re
from itertools import combinations, pairwise, permutations

import pytest
from conftest import described
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from plans import train_of
from wagons import FULL, bogie, one

from partgen.paper.assembly import steps
from partgen.paper.bill import bill
from partgen.paper.sequence import wagons_in_order
from partgen.parts import PARTS
from partgen.parts.steps.fronts import front_of
from partgen.plan.fasteners import fasteners
from partgen.plan.printed import printed_mass
from partgen.plan.trackside import Trackside
from partgen.plan.train import resolve

# Steps

@pytest.mark.parametrize("train", [lambda: one(**FULL), lambda: one(wagon='cups = ["tea"]'), bogie])
def test_steps_add_everything_once_and_nothing_to_thin_air(train):
    train = train()
    [plan] = train.wagons
    there, added = {"frame"}, []
    own = [step for step in steps(train) if step.wagons]
    for step in own:
        if not step.front:                                  # the drawbars are filled on the bench
            assert set(step.there) <= there | {"axle-holder", "clamp-bar", "bogie"}, step.title
        added += [name for name in step.new if not (step.front and name == "coupler-cover") and
                  not (step.front and name == "magnet")]
        there |= set(step.new)
    printed = {item.name for item in plan.items}
    assert printed <= there and {"wheel", "magnet"} <= there
    assert len(added) == len(set(added))
    assert {placed.name for placed in plan.layout.placed} <= there
    held = [what for step in own for what in dict.fromkeys(one.what for one in step.screws)]
    assert {screw.what for screw in fasteners(plan)} <= set(held) and len(held) == len(set(held))


def test_steps_name_the_screws_of_the_bill():
    train = one(**FULL)
    said = " ".join(step.text for step in steps(train))
    for line in bill(train):
        if line.shelf == "fasteners" and "screw" in line.what:
            assert f"{line.size.split(',')[0]} ({line.standard})" in said
    assert "4 nuts" in said and "2 washers" in said


def test_steps_follow_the_order_of_work_and_tell_once_what_is_done_alike(demo):
    """Wagon after wagon; running gear is told with the first of a kind, and the others' step names its numbers and
    takes their screws again: every wagon's steps hold all screws of its bill."""
    train = resolve(demo)
    found, order = steps(train), wagons_in_order(train)
    own = [step.wagons[0] for step in found if len(step.wagons) == 1]
    assert sorted(own, key=order.index) == own and set(own) == {plan.name for plan in train.wagons}
    shared = [number for number, step in enumerate(found, 1) if step.shared]
    assert {found[number - 1].wagons for number in shared} == {(order[0],)}
    again = [step for step in found if "The same once more" in step.text]
    assert [step.wagons for step in again] == [(name,) for name in order[1:]]
    assert all(f"steps {min(shared)} to {max(shared)}, with 4 x M3" in step.text for step in again)
    # two drawbars with two magnets each, two axles
    assert all("4 x disc magnet" in step.text and "2 x wheelset" in step.text for step in again)
    for plan in train.wagons:
        held = [screw for step in found if step.wagons == (plan.name,) for screw in step.screws]
        assert sorted(map(repr, held)) == sorted(map(repr, fasteners(plan)))


def test_wagons_come_by_what_they_take_of_plastic(demo):
    """Weighed one by one in every order: the first takes least, and of what is then left again the least, where what
    is due beside the track counts with the first wagon that it serves."""
    for train in (resolve(demo), resolve(described(wagon='length = 170\n[[wagon]]\nname = "two"\nwheelbase = 64\n'
                                                   'cups = ["tea"]\n[[wagon]]\nname = "b"\nwheelbase = 64'))):
        def grams(items, printer=train.description.printer):
            return sum(printed_mass(item.plan, printer) * item.count for item in items)
        def taken(way, train=train, grams=grams):
            done = set()
            for name in way:
                plan, = (plan for plan in train.wagons if plan.name == name)
                beside = [item for item in train.trackside.items if name in item.serves and item.name not in done]
                done |= {item.name for item in beside}
                yield round(grams(plan.items) + grams(beside), 6)
        found = wagons_in_order(train)
        assert tuple(taken(found)) == min(tuple(taken(way)) for way in permutations(found))


def test_every_step_names_its_wagon_in_a_train_of_several_kinds():
    """Three wagons, two of a kind on axle holders and one on bogies: either kind is told once."""
    more = ('[[wagon]]\nname = "two"\nwheelbase = 64\n[[wagon]]\nname = "long"\nwheelbase = 40\n'
            "pivot_spacing = 120")
    found = [(step.title, step.wagons) for step in steps(resolve(described(wagon=more))) if len(step.wagons) == 1]
    titles = [title for title, _ in found]
    assert {"one: Magnets into the drawbars", "two: running gear", "long: Magnets into the drawbars",
            "long: Bogies under the frame", "long: Drawbars"} <= set(titles)
    assert "two: Drawbars" not in titles and all(title.startswith(f"{names[0]}: ") for title, names in found)


def test_a_sensor_is_set_once_markers_lie_and_the_train_runs_by_hand_at_last(demo):
    train = resolve(demo)
    found = steps(train)
    titles = [step.title for step in found]
    assert titles.index("Markers between the rails") < titles.index("controls: sensor set over a marker")
    assert titles[-3:] == ["Couple the train", "First run, by hand", "Let the controller learn its train"]
    assert "locomotive, controls, cups, pantry" in found[-3].text and "ride card" in found[-2].text
    assert "train.h" in found[-1].text and "longer marker, by which it knows the first stop" in found[-1].text


@pytest.mark.parametrize("wagon, said", [
    ({"modules": ["port"]}, r"the opening of port is on its (left|right) side, seen from behind"),
    ({"modules": ["eye", "cell"]}, 
     r"the end on whose side the sensor holder's lug has its single notch, (\d+) mm from .*"),
    ({"modules": ["cell"], "length": 170, "at": [["cell", "back"]]}, "the end further from cell, under its lid"),
    ({"cups": ["tea", "shot"]}, "the end (nearer to|further from) the seat for the (.+)"),
    ({"cups": ["tea", "tea"]}, "either end"),
    ({"cups": ["tea"]}, "either end")])
def test_which_end_goes_first_is_told_by_what_can_be_seen(wagon, said):
    plan = train_of(wagon).wagons[0]
    told = re.fullmatch(said, front_of(plan))
    assert told, front_of(plan)
    walls = {cutout.wall for cutout in plan.layout.cutouts}
    if told.groups() and "opening" in said:
        assert told[1] in walls
    if "sensor" in said:
        assert float(told[1]) == pytest.approx(plan.length / 2 - plan.hung[0].way.x, abs=0.5)
    if "seat" in said:
        ahead = max(plan.cups, key=lambda one: one[0].x)[1].label
        assert (told[1] == "nearer to") == (told[2] == ahead)
    mug = "[cup.mug]\nprofile = [[0, 50], [60, 60]]\nmass = 100\nhandle = true\nhandle_length = 25"
    held, = resolve(described(wagon="cups = ['mug', 'mug']", module=mug)).wagons
    text = " ".join(step.text for step in PARTS["cradle"].steps(held))
    side = re.search(r"windows on the (left|right), seen from behind", text)[1]
    assert front_of(held) == f"either end, the cups turned so that their handles are on its {side}, seen from behind"
    assert front_of(bogie().wagons[0]) == "the end over the bogie that does not roll from side to side"


def test_body_and_cradle_of_unequal_ends_are_told_which_goes_to_the_front():
    """On a frame that has a front: on bogies, one of which rolls. What an unequal cradle says of its own ends is true
    of its seats; turned half round, one of equal seats looks the same, and nothing is said."""
    bank = "[module.cell]\nlength = 60\nwidth = 30\nheight = 20\nmass = 90\nbattery = true\nmount = 'strap'"
    other = "[cup.shot]\nprofile = [[0, 40], [60, 50]]\nmass = 60\nfill = 30"
    for cups, said in (("'tea', 'shot'", True), ("'tea', 'tea'", False)):
        train = resolve(described(module=bank, cup=other, wagon=(
            f"length = 230\npivot_spacing = 140\nmodules = ['cell']\nat = [['cell', 'back']]\ncups = [{cups}]")))
        texts = {step.title: step.text for step in steps(train)}
        cradle, body = texts["one: cradle and cups"], texts["one: body onto the frame"]
        assert "its front (the end further from the strap's slots for cell) over the bogie that does not roll" in body
        assert ("to the wagon's front (the end over the bogie that does not roll" in cradle) == said
        if said:
            plan, = train.wagons
            found = re.search(r"its front \(the end (nearer to|further from) the seat for the (.+?)\) to", cradle)
            ahead = max(plan.cups, key=lambda one: one[0].x)[1].label
            assert (found[1] == "nearer to") == (found[2] == ahead)


def test_wheels_are_named_where_they_are_parts_and_pressed_on_in_their_jig():
    """A printed wheel is a part of its own and is named; a bought one is half of a wheelset, till it is drawn off."""
    from partgen.report import props
    from partgen.report.album import step_scene
    from partgen.report.scene import Prop
    for lines, at_last in (("printed = true", "wheel"), ("ends = 'bearing'", "wheelset")):
        train = resolve(described(wheelset=lines))
        pressed, placed = (next(step for step in steps(train) if step.title.endswith(end) and step.wagons)
                           for end in ("rods" if at_last == "wheel" else "onto the axles", "Wheelsets"))
        names = {*pressed.new, *placed.new, "wheel-jig"}
        things = [Prop.of(name, props.rounded_box((5, 5, 5), 0.5, 1, (20, 12 * k + 6, 0)), (0.4, 0.4, 0.4))
                  for k, name in enumerate(sorted(names))]
        seen = step_scene(pressed, train.wagons[0], things)
        assert {"wheel-jig", "wheel"} <= {prop.name for prop in seen.props}
        assert "wheel" in dict(seen.labels) and "wheelset" not in dict(seen.labels)
        assert at_last in dict(step_scene(placed, train.wagons[0], things).labels)


def test_pictures_of_a_wagon_name_its_front():
    from partgen.report.album import step_scene
    train = one(**FULL)
    plan, things = boxes(train)
    step = next(step for step in steps(train) if step.title.endswith("body onto the frame"))
    labels = dict(step_scene(step, plan, things).labels)
    frame = next(prop for prop in things if prop.name == "frame").placed()
    assert labels["front"][0] == pytest.approx(frame[:, 0].max())


def test_measurements_are_tried_before_a_wagon_is_begun_and_the_track_is_furnished_with_its_wagon(demo):
    """Each part for the track has its step; those that try what was measured come first, as they are printed, and the
    others with the wagon that needs them."""
    train = resolve(demo)
    found = steps(train)
    beside = [(place, name) for place, step in enumerate(found) for name in step.new if not step.wagons]
    assert sorted(name for _, name in beside) == sorted(item.name for item in train.trackside.items)
    assert [name for _, name in beside[:3]] == ["track-gauge", "wheel-gauge", "radius-template"]
    assert [place for place, _ in beside[:3]] == [0, 1, 2] and found[3].wagons
    for place, name in beside[3:]:
        item = next(item for item in train.trackside.items if item.name == name)
        assert found[place - 1].wagons[0] in item.serves
    said = " ".join(step.text for step in found if step.title == "Fill marks on the cups")
    assert "with 1 hole over the rim of espresso" in said and "with 2 holes over the rim of tea" in said
    assert "not food-safe" in said and "water" in said


# Pictures

def boxes(train):
    """A wagon's printed parts as plain boxes, as props have them."""
    from partgen.report import props
    from partgen.report.scene import Prop
    [plan] = train.wagons
    found = []
    for item in plan.items:
        for place in item.places:
            block = props.rounded_box((10, 10, 4), 0.5, 1, (place.x, place.y, place.z))
            found.append(Prop.of(item.name, block, (0.5, 0.5, 0.5)))
    return plan, [*found, *(Prop.of(name, props.rounded_box((5, 5, 5), 0.5, 1, (x, 0, 0)), (0.4, 0.4, 0.4))
                            for name in ("wheel", "axle", "magnet", "box", "cup", "liquid", "felt", "tape", "strap")
                            for x in (20, -20))]


@pytest.mark.parametrize("lines", [FULL, {"wagon": "cups = ['tea']"}], ids=["full", "open"])
def test_a_wagon_taken_apart_reads_from_the_rails_upwards(lines):
    """Of every two things of a wagon, the one above stays above, and clear of the other."""
    from partgen.report.album import lifts
    plan, = one(**lines).wagons
    rise = lifts(plan)
    inside = [(placed.z + plan.floor_z, placed.z + placed.height + plan.floor_z, placed.name)
              for placed in plan.layout.placed]
    cups = [(plan.deck_z, plan.deck_z + cup.profile[-1][0], "cup") for _, cup in plan.cups]
    lid = [(plan.lid.bottom, plan.lid.top, "lid")] if plan.lid else []
    rows = [[(plan.frame.bottom, plan.frame.top, "frame")], [(plan.body.bottom, plan.body.top, "body")], inside, lid,
            cups]
    for below, above in pairwise([row for row in rows if row]):
        hidden = 0.2 * plan.body.inside[2] if above is inside else 0.0      # modules come out nearly whole
        low = min(low + rise[name] for low, _, name in above)
        assert low > max(high + rise[name] for _, high, name in below) - hidden
    assert rise["wheel"] == rise["axle"] < rise["axle-holder"] < min(rise["frame"], rise["coupler"]) < 0.01
    assert rise["cradle"] < rise["cup"] == rise["liquid"]
    if plan.inserts:
        assert all(rise["cradle"] < rise[item.name] < rise["cup"] for item in plan.items if item.loose)


def test_new_parts_stand_off_from_where_they_go():
    from partgen.report.album import step_scene
    train = one(**FULL)
    plan, things = boxes(train)
    for step in [step for step in steps(train) if step.wagons and step.new]:
        scene = step_scene(step, plan, things)
        shown = {prop.name for prop in scene.props}
        assert set(step.new) <= shown | {"liquid"}
        assert ("screw" in shown) == bool(step.screws)
        texts = " ".join(text for text, _ in scene.labels)
        assert all(name.replace("-", " ") in texts for name in step.new if name not in ("wheel", "axle", "liquid"))
        head = -1 if min(step.new.values()) < 0 else 1      # shown on its head
        homes = {prop.name: prop.placed()[:, 2].mean() for prop in things}
        for prop in scene.props:
            if prop.name not in ("screw", "nut", "washer"):
                rise = head * prop.placed()[:, 2].mean() - homes[prop.name]
                assert rise == pytest.approx(step.new.get(prop.name, 0.0), abs=1e-6), (step.title, prop.name)


def test_a_sensor_that_is_set_is_shown_over_its_marker():
    """Near: only holder, sensor and marker are in the frame, the marker's middle straight under the sensor's."""
    from partgen.report import props
    from partgen.report.album import over_marker
    from partgen.report.scene import Prop
    train = train_of({"modules": ["eye", "cell", "port"]})
    plan, = train.wagons
    hung, = plan.hung
    def block(name, x, z):
        return Prop.of(name, props.rounded_box((6, 6, 2), 0.5, 1, (x, 0, z)), (0.5, 0.5, 0.5))
    things = [block("sensor-holder", hung.way.x, 3), block("eye", hung.way.x, 4), block("frame", 0, 20),
              block("lid", 0, 60)]
    scene = over_marker(plan, things, [block("marker", 0, -3), block("rail", 0, -2), block("track-gauge", 0, 0)])
    assert {prop.name for prop in scene.props} == {"sensor-holder", "eye", "frame", "marker", "rail",
                                                      "screw", "nut", "washer"}
    assert {prop.name for prop in scene.props if prop.in_frame} == {"sensor-holder", "eye", "marker",
                                                                           "screw", "nut", "washer"}
    middles = {prop.name: prop.placed().mean(axis=0) for prop in scene.props}
    assert abs(hung.way.x) > 5 and middles["marker"][:2] == pytest.approx(middles["eye"][:2])
    assert sorted(text for text, _ in scene.labels) == ["eye", "marker", "screw, washer", "sensor holder"]
    step, = (step for step in steps(train) if step.on_track)
    assert not step.new and step.wagons == (plan.name,)


@given(sizes=st.lists(st.tuples(st.floats(2, 200), st.floats(2, 120)), min_size=1, max_size=20))
@settings(max_examples=40)
def test_parts_on_the_sheet_never_overlap(sizes):
    """Every pair of rectangles keeps apart, checked pair by pair."""
    from partgen.report.album import APART, shelves
    sizes.sort(key=lambda size: -size[1])
    spots = shelves(sizes)
    for (a, (ax, ay)), (b, (bx, by)) in combinations(zip(sizes, spots, strict=True), 2):
        apart = max(abs(ax - bx) - (a[0] + b[0]) / 2, abs(ay - by) - (a[1] + b[1]) / 2)
        assert apart >= APART - 1e-6


@pytest.mark.slow
def test_the_sheet_marks_the_thinnest_wall():
    """A cover thinned to 0.5 mm is named with it and gets a red mark on the thin place."""
    from solids import as_mesh, block

    from partgen.report.album import RED, pose_sheet
    from partgen.solids.built import Built
    train = replace(one(**FULL), trackside=Trackside())
    [plan] = train.wagons
    meshes = {}
    for item in plan.items:
        x, y, z = (max(side, 6) for side in item.plan.size)
        meshes[plan.name, item.name] = as_mesh(block(x, y, 0.5 if item.part == "coupler-cover" else z))
    scene = pose_sheet(Built(train, meshes, {}))
    texts = dict(scene.labels)
    assert "one coupler cover: 0.50" in texts or "coupler cover: 0.50" in texts
    marks = [prop for prop in scene.props if prop.colour == RED]
    assert len(marks) == 1 and len(scene.labels) == len({id(mesh) for mesh in meshes.values()})
    cover = next(prop for prop in scene.props if prop.name == "coupler-cover").placed()
    middle = marks[0].placed().mean(axis=0)
    assert (cover.min(axis=0) - 1e-6 <= middle).all() and (middle <= cover.max(axis=0) + 1e-6).all()
    assert all(low <= high for low, high in pairwise(sorted(prop.placed()[:, 2].min() for prop in scene.props)))
