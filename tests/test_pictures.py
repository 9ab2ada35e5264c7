"""Pictures: the child that draws, against real PNG files read by Pillow; a scene on its way there."""

import pickle
import subprocess
import sys

import numpy as np
import pytest
import trimesh
from msgspec.structs import replace

from partgen.report import pictures, props, scene
from partgen.report.wagon_props import chord_pose


def solid(prop):
    return trimesh.Trimesh(prop.placed(), prop.faces, process=False)


def block(size=(10, 10, 10), at=(0, 0, 0), colour=(0.8, 0.1, 0.1), **more):
    return scene.Prop.of("body", props.rounded_box(size, 0.5, middle=at), colour, **more)


def test_a_scene_reaches_a_child_that_knows_no_mesh_library():
    made = scene.Scene(
        (block(finish="metal", opacity=0.5), replace(block(), name="lid", transform=chord_pose(320, 90, 50))),
        (1.0, -2.0, 0.5), (320, 200), (("a lid, ×2", (1.0, 2.0, 3.0)),),
        (((0.0, 0.0, 0.0), (0.0, 0.0, 9.0)),), ground=np.float64(-9.5),
    )
    sent = pickle.dumps(made)
    assert b"trimesh" not in sent and b"trimesh" in pickle.dumps(props.rounded_box((9, 9, 9), 0.5).vertices)
    read = pickle.loads(sent)
    for name in ("camera", "size", "labels", "lines", "ground"):
        assert getattr(read, name) == getattr(made, name)
    for old, new in zip(made.props, read.props, strict=True):
        for name in ("vertices", "faces", "transform"):
            assert np.array_equal(getattr(old, name), getattr(new, name))
        for name in ("name", "colour", "finish", "opacity", "in_frame"):
            assert getattr(old, name) == getattr(new, name)


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
    with pictures.drawing([scene.Scene((block(),))] * 2) as pending:
        good, bad = pending.deliver(files)
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
        "on dark": replace(base, props=(block((9, 9, 9), (0, 0, 5), (0.05, 0.05, 0.05)),), ground=None, labels=(
            ("dark", (0.0, -4.5, 5.0)),)),
    }
    files = {name: folder / f"{name}.png" for name in scenes}
    with pictures.drawing(list(scenes.values())) as pending:
        reasons = pending.deliver(list(files.values()))
    for reason in filter(None, reasons):
        if "died of signal" in reason or "misses lib" in reason:
            pytest.skip(reason)  # a machine without a graphics stack; any other reason is a fault of ours
        pytest.fail(reason)
    return scenes, {name: np.asarray(image.open(file)).astype(int) for name, file in files.items()}, files


@pytest.mark.slow
def test_several_children_draw_what_one_draws(drawn, tmp_path):
    scenes, _, files = drawn
    names = ["floating", "marks", "labelled"]
    with pictures.drawing([scenes[name] for name in names], children=2) as pending:
        assert [drawer.asked for drawer in pending.drawers] == [(0, 2), (1,)]
        assert pending.deliver([tmp_path / f"{name}.png" for name in names]) == [None] * 3
    assert all((tmp_path / f"{name}.png").read_bytes() == files[name].read_bytes() for name in names)


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
        assert (x.mean(), y.mean()) == pytest.approx(expected, abs=1.2)
        reach = np.ptp(seen.project(prop.placed()), axis=0)
        assert (np.ptp(x), np.ptp(y)) == pytest.approx(reach, abs=2)


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
def test_a_leader_stands_out_from_a_dark_thing_behind_it(drawn):
    """Beside the dot and the line, which are dark, the block is pale; without them it is nowhere."""
    scenes, pixels, _ = drawn
    [(_, (x, y), end, _)] = scene.place_labels(scenes["on dark"])
    on_block = pixels["on dark"][int(y) - 8:int(y) + 8, int(x) - 12:int(x) + 12].min(axis=-1)
    assert on_block.max() > 200 and on_block.min() < 60 and np.median(on_block) < 60


@pytest.mark.slow
def test_the_same_scene_gives_the_same_bytes(drawn):
    *_, files = drawn
    assert files["marks"].read_bytes() == files["again"].read_bytes()


