"""Pictures: props against trimesh and shapely, placing against plane geometry, the child against real PNG files."""

import math
import subprocess
import sys

import numpy as np
import pytest
import trimesh
from msgspec.structs import replace
from shapely import Polygon

from partgen.report import pictures, props, scene

GAUGE, RADIUS, HEAD, HEIGHT = 37.5, 320.0, 3.0, 6.0


def things():
    made = [
        *props.wheelset(17, 20.4, 3.1, 30.3, 6, 3, 46),
        *props.wheelset(9, 11, 0.8, 14, 2.8, 1.5, 20),
        *props.cup([(0, 46), (8, 50), (45, 60)], 24, 28),
        *props.cup([(0, 70), (90, 70)], 33, 70, handle=False),
        props.module((40, 20, 8)),
        props.magnet(8, 3),
        props.magnet(5, 2, "z"),
        props.screw(3, 10),
        *props.track_arc(GAUGE, RADIUS, -20, 60, HEAD, HEIGHT),
        *props.track_straight(GAUGE, -100, 150, HEAD, HEIGHT),
    ]
    return [pytest.param(prop, id=f"{k}-{prop.name}") for k, prop in enumerate(made)]


def solid(prop):
    return trimesh.Trimesh(prop.placed(), prop.faces, process=False)


def block(size=(10, 10, 10), at=(0, 0, 0), colour=(0.8, 0.1, 0.1), **more):
    vertices, faces = props.rounded_box(size, 0.5)
    return scene.Prop("body", vertices + np.array(at, float), faces, colour, **more)


@pytest.mark.parametrize("prop", things())
def test_props_are_closed_and_wound_outward(prop):
    body = solid(prop)
    assert body.is_watertight and body.is_winding_consistent and body.volume > 0
    assert body.area_faces.min() > 1e-9
    assert all(part.volume > 0 for part in body.split(only_watertight=False))
    assert set(props.PALETTE) >= {prop.name}


def test_a_turned_ring_has_the_volume_of_pappus_rule():
    outline = [(5, 0), (9, 0), (8, 3), (6, 4)]
    area = Polygon(outline)
    sides = 96
    # Pappus: area times the way of its centroid; a turn in n straight steps sweeps n/(2 pi) sin(2 pi/n) of it
    swept = 2 * math.pi * area.centroid.x * area.area * sides / (2 * math.pi) * math.sin(2 * math.pi / sides)
    for axis in "xyz":
        assert props.volume(*props.lathe(outline, axis, sides)) == pytest.approx(swept, rel=1e-12)


def test_a_round_box_has_the_volume_of_steiners_formula():
    a, b, c, r = 30.0, 18.0, 12.0, 3.0
    p, q, s = a - 2 * r, b - 2 * r, c - 2 * r
    # Steiner: a box swollen by a ball; the mesh is inscribed in it, so a little less
    swollen = p * q * s + 2 * r * (p * q + q * s + s * p) + math.pi * r**2 * (p + q + s) + 4 / 3 * math.pi * r**3
    volumes = [props.volume(*props.rounded_box((a, b, c), r, steps)) for steps in (1, 2, 8)]
    assert volumes == sorted(volumes) and volumes[-1] < swollen
    assert volumes[-1] == pytest.approx(swollen, rel=1e-3)


def test_a_wheelset_keeps_its_measures():
    left, right, axle = props.wheelset(17, 20.4, 3.1, 30.3, 6, 3, 46)
    across = np.concatenate([left.vertices[:, 1], right.vertices[:, 1]])
    assert np.abs(across).min() * 2 == pytest.approx(30.3)
    radius = np.hypot(left.vertices[:, 0], left.vertices[:, 2])
    assert radius.max() == pytest.approx(10.2)
    tread = (left.vertices[:, 1] > 30.3 / 2 + 4.5) & (left.vertices[:, 1] < 30.3 / 2 + 5.8)
    assert radius[tread].max() == pytest.approx(8.5)
    assert np.ptp(axle.vertices[:, 1]) == pytest.approx(46)


def test_the_drink_fills_the_cup_to_its_wall():
    cup, drink = props.cup([(0, 46), (8, 50), (45, 60)], 24, 28, wall=2, handle=False)
    assert drink.vertices[:, 2].max() == pytest.approx(2 + 28)
    rim = np.hypot(*drink.vertices[:, :2].T).max()
    cut = trimesh.intersections.mesh_plane(solid(cup), (0, 0, 1), (0, 0, 30))
    clear = np.hypot(cut[..., 0], cut[..., 1]).min()
    assert clear == pytest.approx(24, abs=0.1)
    assert clear < rim < clear + 1


def test_rails_stand_exactly_a_gauge_apart_on_the_arc():
    left, right, sleepers = props.track_arc(GAUGE, RADIUS, -30, 75, HEAD, HEIGHT)
    centre = np.array([0, RADIUS])
    inner = np.linalg.norm(left.vertices[:, :2] - centre, axis=1)
    outer = np.linalg.norm(right.vertices[:, :2] - centre, axis=1)
    assert inner.max() == pytest.approx(RADIUS - GAUGE / 2, abs=1e-9)
    ends = 2  # the middles of the two end caps
    assert outer[:-ends].min() == pytest.approx(RADIUS + GAUGE / 2, abs=1e-9)
    assert left.vertices[:, 2].max() == right.vertices[:, 2].max() == pytest.approx(0)
    assert left.vertices[:, 2].min() == pytest.approx(-HEIGHT)
    assert sleepers.vertices[:, 2].max() == pytest.approx(-HEIGHT)


def test_the_arc_starts_at_the_origin_along_x_and_turns_left():
    left, right, _ = props.track_arc(GAUGE, RADIUS, 0, 90, HEAD, HEIGHT)
    middle = (GAUGE + HEAD) / 2
    for rail, side in ((left, 1), (right, -1)):
        start, end = rail.vertices[-2], rail.vertices[-1]
        assert start[:2] == pytest.approx([0, side * middle])
        assert end[:2] == pytest.approx([RADIUS - side * middle, RADIUS])


@pytest.mark.parametrize("wheelbase, s", [(90, 0), (90, -230), (140, 400), (0, 55)])
def test_both_axles_stand_on_the_centre_line(wheelbase, s):
    marks = [block((2, 2, 2), (x, 0, 0)) for x in (wheelbase / 2, -wheelbase / 2, 0)]
    shown = pictures.stand_on_curve([marks], RADIUS, [(wheelbase, s)])
    front, rear, middle = (solid(p).center_mass for p in shown.props[:3])
    centre = np.array([0, RADIUS, 0])
    assert np.linalg.norm(front - centre) == pytest.approx(RADIUS, abs=1e-9)
    assert np.linalg.norm(rear - centre) == pytest.approx(RADIUS, abs=1e-9)
    assert front[2] == pytest.approx(0, abs=1e-9)
    angle = math.atan2(middle[0], RADIUS - middle[1])
    assert angle == pytest.approx(s / RADIUS, abs=1e-9)
    # the front axle is the one further along the curve
    assert math.atan2(front[0], RADIUS - front[1]) >= angle - 1e-12


def test_straight_track_is_the_limit_of_a_wide_curve():
    mark = block((2, 2, 2), (45, 7, 3))
    far, straight = (pictures.chord_pose(r, 90, 130) for r in (1e7, math.inf))
    assert mark.moved(far).placed() == pytest.approx(mark.moved(straight).placed(), abs=1e-2)
    rail = pictures.stand_on_curve([[mark]], math.inf, [(90, 130)]).props[1]
    assert rail.vertices[:, 1].min() == pytest.approx(GAUGE / 2)


def test_a_scene_survives_its_file(tmp_path):
    made = scene.Scene(
        (block(finish="metal", opacity=0.5), replace(block(), name="lid", transform=pictures.chord_pose(320, 90, 50))),
        scene.Camera((1, -2, 0.5), zoom=1.2), (320, 200), (("a lid, ×2", (1.0, 2.0, 3.0)),),
        (((0.0, 0.0, 0.0), (0.0, 0.0, 9.0)),), ground=np.float64(-9.5),
    )
    scene.save(made, tmp_path / "scene.npz")
    read = scene.load(tmp_path / "scene.npz")
    for name in ("camera", "size", "labels", "lines", "ground"):
        assert getattr(read, name) == getattr(made, name)
    for old, new in zip(made.props, read.props, strict=True):
        for name in ("vertices", "faces", "transform"):
            assert np.array_equal(getattr(old, name), getattr(new, name))
        for name in ("name", "colour", "finish", "opacity", "in_frame"):
            assert getattr(old, name) == getattr(new, name)


def test_an_unknown_finish_and_an_empty_scene_are_refused():
    with pytest.raises(ValueError, match="finish 'velvet' of body is none of plastic, metal"):
        block(finish="velvet")
    with pytest.raises(ValueError, match="at least one prop"):
        scene.Scene(())


@pytest.mark.parametrize("direction", [(-0.6, -1, 0.5), (1, 0.2, 2), (0, -1, 0)])
@pytest.mark.parametrize("size", [(1600, 1000), (600, 900)])
def test_the_camera_holds_the_subject_as_near_as_it_can(direction, size):
    shown = scene.Scene((block((120, 40, 60), (300, -50, 20)), block((30, 30, 90), (250, 0, 0))),
                        scene.Camera(direction), size)
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
    placed = scene.place_labels(shown)
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
    shown = pictures.exploded(parts, {"top-frame": 30.0, "wheel": (0, 0, -20)})
    assert {text for text, _ in shown.labels} == {"4 × wheel", "top frame"}
    assert [solid(p).center_mass[2] for p in shown.props] == pytest.approx([-20] * 4 + [50, 40])
    assert len(shown.lines) == 5


def test_a_label_points_where_its_part_is_seen():
    """A low block stands behind a tall one that hides most of it; judged by rays through the tall one's mesh."""
    tall, low = props.module((40, 40, 30), "tall"), props.module((60, 12, 10), "low")
    low = low.moved(np.array([[1, 0, 0, 36], [0, 1, 0, 40], [0, 0, 1, 0], [0, 0, 0, 1.0]]))
    shown = pictures.exploded([tall, low], {})
    point = np.array({text: point for text, point in shown.labels}["low"])
    eye = scene.view(shown).position
    blocked = trimesh.Trimesh(tall.vertices, tall.faces).ray.intersects_any
    corners = low.placed()[low.faces].mean(axis=1)
    assert blocked(corners, eye - corners).sum() > 0.3 * len(corners), "the tall block hides much of it"
    assert not blocked([point], [eye - point])[0]


def test_drawing_is_left_to_the_child():
    code = "import sys, partgen.report.pictures; sys.exit('vtkmodules' in sys.modules or 'trimesh' in sys.modules)"
    root = str(pictures.Path(pictures.__file__).parents[2])
    assert subprocess.run([sys.executable, "-c", code], env={"PYTHONPATH": root}).returncode == 0


@pytest.fixture
def child(monkeypatch):
    """Puts other code in the place of the program that draws; it gets the same arguments."""
    def put(code):
        monkeypatch.setattr(pictures, "_command", lambda: [sys.executable, "-S", "-c", code])
    return put


DEATHS = {
    "segfault": ("import os; os.kill(os.getpid(), 11)", "died of signal 11"),
    "hang": ("import time; time.sleep(60)", "stopped after 1 s"),
    "module": ("import vtkmodules_that_are_missing", "misses vtkmodules_that_are_missing"),
    "library": ("raise ImportError('libGL.so.1: cannot open shared object file')", "misses libGL.so.1"),
    "fault": ("raise SystemExit('out of paper')", "gave up (exit 1: out of paper)"),
}


@pytest.mark.parametrize("code, words", DEATHS.values(), ids=DEATHS)
def test_a_child_that_dies_leaves_the_last_picture_and_says_why(tmp_path, child, code, words):
    child(code)
    old = tmp_path / "train.png"
    old.write_bytes(b"the last picture")
    reason = pictures.render(scene.Scene((block(),)), old, timeout=1)
    assert words in reason and reason.count(".png") == 1 and reason.endswith(".")
    assert "libgl1 libegl1 libgl1-mesa-dri" in reason
    assert old.read_bytes() == b"the last picture"
    assert list(tmp_path.iterdir()) == [old]


def test_pictures_finished_before_the_child_died_are_kept(tmp_path, child):
    child("import os, sys; open(sys.argv[2], 'wb').write(b'new'); open(sys.argv[4], 'wb').write(b'ne');"
          "print(0, flush=True); os.kill(os.getpid(), 11)")
    files = [tmp_path / "deep" / "a.png", tmp_path / "b.png"]
    good, bad = pictures.render_many([(scene.Scene((block(),)), file) for file in files])
    assert good is None and files[0].read_bytes() == b"new"
    assert "b.png" in bad and "signal 11" in bad and not files[1].exists()


@pytest.mark.slow
def test_a_machine_without_a_graphics_stack_gets_a_reason(tmp_path, monkeypatch):
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.setenv("__EGL_VENDOR_LIBRARY_FILENAMES", str(tmp_path / "none.json"))  # no driver is found
    reason = pictures.render(scene.Scene((block(),)), tmp_path / "a.png")
    assert "the renderer" in reason and "libgl1-mesa-dri" in reason
    assert not (tmp_path / "a.png").exists()


@pytest.fixture(scope="module")
def drawn(tmp_path_factory):
    """Small real pictures from one child: the scenes and their pixels as (height, width, 3) arrays."""
    image = pytest.importorskip("PIL.Image", reason="needs Pillow to read pictures")
    folder = tmp_path_factory.mktemp("drawn")
    marks = [block((6, 6, 6), (x, y, z), colour) for x, y, z, colour in (
        (-30, 0, 3, (0.9, 0.1, 0.1)), (25, -10, 3, (0.1, 0.8, 0.1)), (5, 10, 40, (0.1, 0.1, 0.9)))]
    base = scene.Scene(tuple(marks), size=(480, 300), ground=0.0)
    scenes = {
        "marks": base,
        "again": base,
        "floating": replace(base, ground=None),
        "labelled": replace(base, ground=None, labels=(("red", (-30.0, 0.0, 3.0)),)),
    }
    files = {name: folder / f"{name}.png" for name in scenes}
    reasons = pictures.render_many([(scenes[name], files[name]) for name in scenes])
    for reason in filter(None, reasons):
        if "died of signal" in reason or "misses lib" in reason:
            pytest.skip(reason)  # a machine without a graphics stack; any other reason is a fault of ours
        pytest.fail(reason)
    return scenes, {name: np.asarray(image.open(file)).astype(int) for name, file in files.items()}, files


@pytest.mark.slow
def test_a_picture_has_its_size_and_is_not_blank(drawn):
    scenes, pixels, _ = drawn
    for name, picture in pixels.items():
        assert picture.shape == (*scenes[name].size[::-1], 3)
        assert picture.std() > 10


@pytest.mark.slow
def test_things_show_where_the_view_says_and_in_their_colour(drawn):
    scenes, pixels, _ = drawn
    picture, seen = pixels["marks"], scene.view(scenes["marks"])
    for strong, prop in enumerate(scenes["marks"].props):
        others = [c for c in range(3) if c != strong]
        shown = (picture[..., strong, None] > picture[..., others] + 60).all(axis=-1)
        y, x = np.nonzero(shown)
        expected = seen.project(solid(prop).center_mass)[0]
        assert (x.mean(), y.mean()) == pytest.approx(expected, abs=2.5)
        reach = np.ptp(seen.project(prop.placed()), axis=0)
        assert (np.ptp(x), np.ptp(y)) == pytest.approx(reach, abs=4)


@pytest.mark.slow
def test_the_table_catches_shadows_and_the_air_does_not(drawn):
    scenes, pixels, _ = drawn
    grey = {name: pixels[name].mean(axis=-1) for name in ("marks", "floating")}
    coloured = np.ptp(pixels["marks"], axis=-1) > 25
    darker = (grey["floating"] - grey["marks"])[~coloured]
    assert (darker > 15).sum() > 100  # shadows on the table
    assert np.quantile(np.abs(darker), 0.5) < 3  # and elsewhere the same paper


@pytest.mark.slow
def test_no_thing_is_black_or_burnt_out(drawn):
    _, pixels, _ = drawn
    strongest = pixels["floating"].max(axis=-1)
    assert np.quantile(strongest, 0.001) > 40
    assert (pixels["floating"].min(axis=-1) == 255).mean() < 0.001


@pytest.mark.slow
def test_a_label_is_written_in_the_margin(drawn):
    scenes, pixels, _ = drawn
    margin = int(scene.label_margin(scenes["labelled"]))
    assert pixels["labelled"][:, :margin].min() < 110 < pixels["floating"][:, :margin].min()


@pytest.mark.slow
def test_the_same_scene_gives_the_same_bytes(drawn):
    *_, files = drawn
    assert files["marks"].read_bytes() == files["again"].read_bytes()


def test_drawbars_point_where_coupled_wagons_pull_them(demo):
    """In a steady curve the pictured swing is the one that `motion` solves for coupled neighbours."""
    from partgen.motion.coupled import pair as stand_coupled
    from partgen.motion.path import Path as Line
    from partgen.motion.path import arc
    from partgen.plan.survey import pairs
    from partgen.plan.train import resolve
    from partgen.report import album
    train = resolve(demo)
    radius = train.description.track.min_radius
    shown = album._swings(train.wagons, train.stations, radius)
    for place, neighbours in enumerate(list(pairs(train))[1:]):
        at = stand_coupled(Line((arc(radius, 350, "left"),)), neighbours.link, np.array([1200.0]))
        front = np.degrees(np.angle(at.ahead / at.front.ahead))[0]
        rear = np.degrees(np.angle(at.ahead / at.rear.ahead))[0]
        assert (shown[place][1], shown[place + 1][0]) == pytest.approx((front, rear), abs=1.5)
        assert abs(front) > 5
