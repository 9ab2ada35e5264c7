"""Views: where wagons stand against plane geometry, cameras and labels; what is seen judged by rays through meshes."""

import math

import numpy as np
import pytest
import trimesh
from msgspec.structs import replace

from partgen.describe.track_tables import Track
from partgen.plan.train import resolve
from partgen.report import props, scene, views, wagon_props

RADIUS = 320.0
TRACK = Track(gauge=37.5, rail_head=3.0, rail_height=6.0, min_radius=RADIUS)
EYE = np.array([-100.0, -400.0, 300.0])


def solid(prop):
    return trimesh.Trimesh(prop.placed(), prop.faces, process=False)


def block(size=(10, 10, 10), at=(0, 0, 0), colour=(0.8, 0.1, 0.1), **more):
    return scene.Prop.of("body", props.rounded_box(size, 0.5, middle=at), colour, **more)


@pytest.mark.parametrize("wheelbase, s", [(90, 0), (90, -230), (140, 400), (0, 55)])
def test_both_axles_stand_on_the_centre_line(wheelbase, s):
    marks = [block((2, 2, 2), (x, 0, 0)) for x in (wheelbase / 2, -wheelbase / 2, 0)]
    shown = views.stand_on_curve([marks], [(wheelbase, s)], TRACK)
    front, rear, middle = (solid(p).center_mass for p in shown.props[:3])
    centre = np.array([0, RADIUS, 0])
    assert np.linalg.norm(front - centre) == pytest.approx(RADIUS, abs=1e-9)
    assert np.linalg.norm(rear - centre) == pytest.approx(RADIUS, abs=1e-9)
    assert front[2] == pytest.approx(0, abs=1e-9)
    angle = math.atan2(middle[0], RADIUS - middle[1])
    assert angle == pytest.approx(s / RADIUS, abs=1e-9)
    # the front axle is the one further along the curve
    assert math.atan2(front[0], RADIUS - front[1]) >= angle - 1e-12


@pytest.mark.parametrize("spans, half", [
    ([(90, -60), (90, 110)], 0.95 * 170 + 112.5),       # beyond both ends by 0.45 of the way between, and 3 gauges
    ([(90, 0), (90, 1900)], 0.97 * math.pi * RADIUS),   # the ends of a long train's track never meet
])
def test_the_track_reaches_beyond_the_wagons(spans, half):
    shown = views.stand_on_curve([[block((60, 10, 10))]] * len(spans), spans, TRACK)
    rail = next(prop for prop in shown.props if prop.name == "rail").vertices
    middle = (spans[0][1] + spans[-1][1]) / 2
    around = (np.arctan2(rail[:, 0], RADIUS - rail[:, 1]) - middle / RADIUS + math.pi) % (2 * math.pi) - math.pi
    assert RADIUS * np.abs(around).max() == pytest.approx(half)
    assert shown.ground == pytest.approx(-TRACK.rail_height - 3.5) and not any(
        prop.in_frame for prop in shown.props if prop.name in ("rail", "sleeper"))


@pytest.mark.parametrize("direction", [(-0.6, -1, 0.5), (1, 0.2, 2), (0, -1, 0)])
@pytest.mark.parametrize("size", [(1600, 1000), (600, 900)])
def test_the_camera_holds_the_subject_as_near_as_it_can(direction, size):
    shown = scene.Scene((block((120, 40, 60), (300, -50, 20)), block((30, 30, 90), (250, 0, 0))),
                        direction, size)
    at = np.vstack([scene.view(shown).project(p.placed()) for p in shown.props])
    reach = np.abs(at / size - 0.5).max(axis=0) * 2
    assert reach.max() == pytest.approx(scene.FILL, abs=1e-9)  # one way fills its share of the frame
    low, high = at.min(axis=0), at.max(axis=0)
    tight = int(np.argmax(reach))
    assert (low + high)[tight] / 2 == pytest.approx(size[tight] / 2, abs=0.5)  # and is centred


def test_labels_keep_apart_and_inside_the_picture():
    rng = np.random.default_rng(5)
    labels = tuple((f"part number {k}", tuple(rng.normal(size=3) * (3, 3, 0.5))) for k in range(17))
    shown = scene.Scene((block(),), labels=labels)
    placed = list(scene.place_labels(shown))
    assert sorted(text for text, *_ in placed) == sorted(text for text, _ in labels)
    tall = scene.letter_height(shown)
    for side in (True, False):
        column = [(anchor[1], near) for _, anchor, near, on_right in placed if on_right is side]
        heights = [near[1] for _, near in column]
        assert np.diff(heights).min() >= 1.5 * tall
        assert min(heights) > tall / 2 and max(heights) < 1000 - tall / 2
        assert [a for a, _ in column] == sorted(a for a, _ in column)  # leader lines do not cross


def test_an_exploded_view_moves_names_and_counts():
    wheels = [block(at=(x, y, 0)) for x in (-40, 40) for y in (-15, 15)]
    parts = [*(replace(w, name="wheel") for w in wheels), replace(block((100, 40, 5), (0, 0, 20)), name="top-frame"),
             replace(block((5, 5, 5), (0, 0, 40)), name="liquid")]
    shown = views.exploded(parts, {"top-frame": 30.0, "wheel": -20.0}, {"liquid": None})
    assert {text for text, _ in shown.labels} == {"4 × wheel", "top frame"}
    assert [solid(p).center_mass[2] for p in shown.props] == pytest.approx([-20] * 4 + [50, 40])
    assert len(shown.lines) == 5


def test_only_what_moves_and_is_named_has_a_line_to_its_place():
    parts = [replace(block(at=(0, 0, 20 * k)), name=name) for k, name in enumerate(("still", "moved", "unnamed"))]
    shown = views.exploded(parts, {"moved": 9.0, "unnamed": 7.0}, {"unnamed": None})
    (home, away), = shown.lines
    assert np.subtract(away, home) == pytest.approx((0, 0, 9)) and home == pytest.approx((0, 0, 20), abs=1e-9)
    assert {text for text, _ in shown.labels} == {"still", "moved"}


@pytest.mark.parametrize("s", [0.0, 400.0, -250.0])
def test_a_curve_is_seen_from_outside_and_ahead(s):
    shown = views.stand_on_curve([[block()]], [(90, s)], TRACK)
    angle = s / RADIUS
    ahead, outside = (math.cos(angle), math.sin(angle), 0), (math.sin(angle), -math.cos(angle), 0)
    assert np.dot(shown.camera, ahead) == pytest.approx(0.62) and np.dot(shown.camera, outside) == pytest.approx(1)


def test_a_label_points_where_its_part_is_seen():
    """A low block stands behind a tall one that hides most of it; judged by rays through the tall one's mesh."""
    tall, low = props.module((40, 40, 30), "tall"), props.module((60, 12, 10), "low")
    low = low.moved(np.array([[1, 0, 0, 36], [0, 1, 0, 40], [0, 0, 1, 0], [0, 0, 0, 1.0]]))
    shown = views.exploded([tall, low], {}, {})
    point = np.array({text: point for text, point in shown.labels}["low"])
    eye = scene.view(shown).position
    blocked = trimesh.Trimesh(tall.vertices, tall.faces).ray.intersects_any
    corners = low.placed()[low.faces].mean(axis=1)
    assert blocked(corners, eye - corners).sum() > 0.3 * len(corners), "the tall block hides much of it"
    assert not blocked([point], [eye - point])[0]


@pytest.mark.parametrize("side", [1, -1])
def test_a_label_points_past_what_is_hollow_too(side):
    """A strap's upright hides one end of a block behind it, though the strap's box is mostly air; what stands whole
    behind it gets no label. Judged by rays through the strap's mesh."""
    strap = props.strap(40, 20, 30, 2)
    low = props.module((10, 38, 10), "low").moved(np.array([[1, 0, 0, 60], [0, 1, 0, side * 11], [0, 0, 1, 5],
                                                            [0, 0, 0, 1.0]]))
    tiny = props.module((2, 2, 2), "tiny").moved(np.array([[1, 0, 0, 40], [0, 1, 0, 0], [0, 0, 1, 12],
                                                           [0, 0, 0, 1.0]]))
    shown = views.exploded([strap, low, tiny], {}, {}, camera=(-1.0, 0.0, 0.05))
    labels, eye = dict(shown.labels), scene.view(shown).position
    assert set(labels) == {"strap", "low"}
    point = np.array(labels["low"])
    assert not trimesh.Trimesh(strap.vertices, strap.faces).ray.intersects_any([point], [eye - point])[0]


@pytest.mark.parametrize("radius", [320.0, 700.0])
def test_coupled_wagons_stand_a_gap_apart_with_their_drawbars_in_line(demo, radius):
    """Judged by plane geometry: pivots and drawbar ends carried to the scene by each wagon's own pose."""
    train = resolve(demo)
    stations, swings = wagon_props.coupled_on_curve(train, radius)
    assert stations[0] == -stations[-1] > 0, "the first one runs ahead, the train's middle is 0"
    poses = [wagon_props.chord_pose(radius, plan.base, s, plan.gear.bogie_wheelbase)
             for plan, s in zip(train.wagons, stations, strict=True)]

    def bar(k, end):
        """Pivot and tip of a drawbar, where it is drawn, from above."""
        plan = train.wagons[k]
        x = end * plan.frame.seats[0].x
        turn = math.radians(swings[k][0 if end > 0 else 1])
        tip = x + end * plan.coupling.front.reach * math.cos(turn), end * plan.coupling.front.reach * math.sin(turn)
        return [(poses[k] @ (*spot, 0, 1))[:2] for spot in ((x, 0.0), tip)]

    for k in range(len(train.wagons) - 1):
        (pivot, tip), (other, nose) = bar(k, -1), bar(k + 1, 1)
        assert tip == pytest.approx(nose, abs=0.02), "the drawbars meet"
        # and lie in one line: what the four points span is flat
        assert np.cross([*(pivot - other), 0], [*(tip - other), 0])[2] / np.hypot(*(pivot - other)) == pytest.approx(
            0, abs=0.02)
        assert abs(swings[k][1]) > 1 > abs(swings[0][0]), "what nothing is coupled to stays straight"


@pytest.mark.parametrize("before, hidden", [
    ({"y": 60.0, "length": 90.0}, False),                   # behind it
    ({"y": -30.0, "length": 30.0}, False),                  # before its middle only
    ({"y": -30.0, "length": 180.0}, True),                  # before all of it
])
def test_a_label_points_at_what_is_seen_of_a_module(demo, before, hidden):
    plan = next(plan for plan in resolve(demo).wagons if plan.name == "controls")
    low, tall = (replace(placed, x=0.0, z=0.0) for placed in plan.layout.placed[:2])
    low = replace(low, y=10.0, length=80.0, width=20.0, height=8.0)
    tall = replace(tall, x=-12.0, width=10.0, height=80.0, **before)
    name, spot = views._module_label(replace(plan, layout=replace(plan.layout, placed=(low, tall))), low, EYE, 60.0)
    assert name == (f"{low.name}, behind" if hidden else low.name)
    lifted = np.array(tall.box).T + (0.0, 0.0, plan.floor_z)
    assert trimesh.creation.box(bounds=lifted).ray.intersects_any([spot], [EYE - spot])[0] == hidden
    assert spot[2] == pytest.approx(plan.floor_z + low.height) and abs(spot[0]) <= low.length / 2


@pytest.mark.parametrize("aside, hidden", [(8.0, False), (-100.0, True)])
def test_what_is_left_of_the_lid_hides_too(demo, aside, hidden):
    plan = next(plan for plan in resolve(demo).wagons if plan.name == "controls")
    alone = replace(plan, layout=replace(plan.layout, placed=plan.layout.placed[:1]))
    name, spot = views._module_label(alone, alone.layout.placed[0], EYE, aside)
    assert name.endswith(", behind") == hidden
    lid = trimesh.creation.box(bounds=[(-plan.lid.length / 2, aside, plan.lid.bottom),
                                       (plan.lid.length / 2, plan.lid.width / 2, plan.lid.top)])
    assert lid.ray.intersects_any([spot], [EYE - spot])[0] == hidden
