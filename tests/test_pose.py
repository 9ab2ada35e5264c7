"""Print poses: bodies whose best side is plain to see, and what the search says of them."""

from math import cos, radians

import numpy as np
import pytest
from manifold3d import Manifold, OpType
from msgspec.structs import replace
from solids import as_mesh, block, posed, prism, upright
from test_solid_checks import built
from trimesh.geometry import align_vectors
from trimesh.poses import compute_stable_poses

from partgen.checks import printed as checks
from partgen.parts import PARTS
from partgen.parts.record import POSES, Part, nothing
from partgen.printing.pose import advice, advise, name_of, sides

SQUARE = 1e-6


def item(pose="upright", kept=""):
    return Part(drawn_by="", pose=pose, kept=kept, needs=(), colour=(0, 0, 0), steps=nothing)


def table():
    """A top on four legs: prints top down without support."""
    return block(40, 40, 4, (0, 0, 20)) + Manifold.batch_boolean(
        [block(5, 5, 21, at) for at in ((0, 0, 0), (35, 0, 0), (0, 35, 0), (35, 35, 0))], OpType.Add)


def test_a_table_is_turned_over():
    said = advice(posed(table()), item())
    assert said.planned.hanging > 500       # from leg to leg only its borders bridge
    assert said.better is not None and said.better.down == (0, 0, 1)
    assert said.text.startswith("flipped has 0 instead of")


def test_a_mushroom_is_turned_over():
    said = advice(posed(upright(10, 20) + upright(30, 4, (0, 0, 20))), item())
    assert said.planned.hanging > 500 and said.better.prints and said.better.down == (0, 0, 1)


@pytest.mark.parametrize("pose", POSES)
def test_the_better_way_is_named_in_the_parts_own_axes(pose):
    """A mushroom drawn cap down prints cap down, upright in its own frame, whatever its planned pose."""
    mushroom = as_mesh(upright(30, 4) + upright(10, 20, (0, 0, 4)))
    turn = np.eye(4)
    turn[:3, :3] = POSES[pose]
    said = advice(posed(mushroom.apply_transform(turn)), item(pose))
    if pose == "upright":
        assert said.better is None and "upright is confirmed" in said.text
    else:
        assert said.better.down == (0, 0, -1) and said.text.startswith("upright has 0 instead of")


def test_a_tall_board_is_laid_flat():
    said = advice(posed(block(60, 3, 40)), item())
    assert not said.planned.stands and said.better.height == pytest.approx(3)
    assert name_of(said.better.down) in ("on-side", "turned so that (0, 1, 0) of its own axes is down, it")


def test_what_lies_well_is_confirmed():
    for body in (block(40, 30, 5), prism([(0, 0), (40, 0), (30, 10), (10, 10)], 30)):
        said = advice(posed(body), item())
        assert said.better is None and "confirmed" in said.text


def test_strength_keeps_its_pose():
    """A tall bar would lie lower, but a part of the table keeps the way its layers run."""
    tall = posed(block(20, 20, 60))
    assert advice(tall, item()).better is not None and advice(tall, item()).kept == ""
    for why in {part.kept for part in PARTS.values()} - {""}:
        said = advice(tall, item(kept=why))
        assert said.kept == why and why in said.text


def test_sides_are_those_that_trimesh_finds_stable():
    """Every side that trimesh gives a tenth of the throws is tried; a part rests on every one tried."""
    for body in (block(40, 30, 12), prism([(0, 0), (30, 0), (20, 12), (4, 12)], 25), table()):
        mesh = posed(body).mesh
        found = [np.array((0, 0, -1.0)), *sides(mesh)]
        turns, shares = compute_stable_poses(mesh, sigma=0, n_samples=1)
        for turn, share in zip(turns, shares, strict=True):
            if share > 0.1:
                down = turn[:3, :3].T @ (0, 0, -1)
                assert max(down @ side for side in found) > cos(radians(3))
        for side in found:
            laid = mesh.copy().apply_transform(align_vectors(side, (0, 0, -1)))
            low = laid.vertices[laid.vertices[:, 2] < laid.bounds[0, 2] + SQUARE]
            x, y = laid.center_mass[:2]
            assert low[:, 0].min() <= x <= low[:, 0].max() and low[:, 1].min() <= y <= low[:, 1].max()


def test_a_failing_part_is_told_the_better_pose():
    mushroom = as_mesh(upright(10, 20) + upright(30, 4, (0, 0, 20)))
    failing = [f for f in checks.printed(built({"a": mushroom})) if f.verdict == "fail"]
    assert [f.check for f in failing] == ["overhang"]
    assert "flipped has 0 instead of" in failing[0].remedy


def test_parts_alike_are_judged_once(monkeypatch):
    """Two wagons share a mesh; another has one of its own: two judgements, three findings."""
    one, calls = built({"a": as_mesh(block(20, 20, 20))}), []
    wagon, mesh = one.train.wagons[0], one.meshes["one", "a"]
    wagons = tuple(_renamed(wagon, name) for name in ("one", "two", "three"))
    train = replace(one.train, wagons=wagons)
    three = type(one)(train, {("one", "a"): mesh, ("two", "a"): mesh, ("three", "a"): mesh.copy()}, {})
    monkeypatch.setattr(checks, "PRINT_CHECKS",
                        {"wall": lambda part: calls.append(part) or checks.wall(part)})
    found = list(checks.printed(three))
    assert [str(f.subject) for f in found] == ["one/a", "two/a", "three/a"] and len(calls) == 2
    assert [[str(one) for one in said.subjects] for said in advise(three)] == [["one/a", "two/a"], ["three/a"]]


def _renamed(wagon, name):
    return replace(wagon, name=name)
