"""Print poses: bodies whose best side is plain to see, and what the search says of them."""

from math import cos, radians

import numpy as np
import pytest
from manifold3d import CrossSection, Manifold, OpType
from msgspec.structs import replace
from solids import as_mesh, block, posed, prism, upright
from test_solid_checks import built
from trimesh.geometry import align_vectors
from trimesh.poses import compute_stable_poses

from partgen.checks import printed as checks
from partgen.parts import PARTS
from partgen.parts.record import POSES, Part, nothing
from partgen.printing.pose import PrintPose, advice, advise, clearly_better, name_of, sides

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
    assert "flipped has 0 instead of" in failing[0].reason


def test_parts_alike_are_judged_once(monkeypatch):
    """Two wagons share a mesh; another has one of its own: two judgements, three findings."""
    one, calls = built({"a": as_mesh(block(20, 20, 20))}), []
    wagon, mesh = one.train.wagons[0], one.meshes["one", "a"]
    wagons = tuple(_renamed(wagon, name) for name in ("one", "two", "three"))
    train = replace(one.train, wagons=wagons)
    three = type(one)(train, {("one", "a"): mesh, ("two", "a"): mesh, ("three", "a"): as_mesh(block(20, 20, 22))}, {})
    monkeypatch.setattr(checks, "PRINT_CHECKS",
                        {"wall": lambda part: calls.append(part) or checks.wall(part)})
    found = list(checks.printed(three))
    assert [str(f.subject) for f in found] == ["one/a", "two/a", "three/a"] and len(calls) == 2
    assert [[str(one) for one in said.subjects] for said in advise(three)] == [["one/a", "two/a"], ["three/a"]]


def _renamed(wagon, name):
    return replace(wagon, name=name)


def test_of_many_sides_the_eight_largest_are_tried():
    """A bar of thirteen sides, no two as wide; its ends are larger than any, one is down already."""
    angles = np.cumsum(np.linspace(1.0, 1.9, 13))
    ring = [(20 * np.cos(a), 20 * np.sin(a)) for a in angles / angles[-1] * 2 * np.pi]
    bar = Manifold.extrude(CrossSection([ring]), 33.0)
    mesh = posed(bar).mesh
    found = sides(mesh)
    hull = mesh.convex_hull
    areas = {tuple(np.round(normal, 3)): area
             for normal, area in zip(hull.facets_normal, hull.facets_area, strict=True)}
    tried = [areas[tuple(np.round(side, 3))] for side in found]
    assert len(found) == 8 and tried == sorted(tried, reverse=True) and found[0][2] == pytest.approx(1)
    assert min(tried) > sorted(areas.values())[-10 - 1]


def test_sides_almost_alike_are_one():
    """A board whose edges are worn: what leans 2 degrees from a side is tried once, what leans 4 degrees twice."""
    def worn(lean):
        rise = 20 * np.tan(radians(lean))
        return posed(prism([(0, 0), (40, 0), (40, 17), (20, 17 + rise), (0, 17)], 23)).mesh
    ups = [sum(side[2] > 0.9 for side in sides(worn(lean))) for lean in (1.0, 4.0)]
    assert ups == [1, 2]


def test_a_side_that_the_part_would_hardly_hold_on_by_is_not_tried():
    """Half of 2 mm2 for every mm of its least extent are 3 mm2: a bar's ends of 9 mm2 do, its point of 1 does not."""
    def ends(bar):
        return sum(abs(side[0]) > 0.99 for side in sides(posed(bar).mesh))
    assert ends(block(40, 3, 3)) == 2
    assert ends(Manifold.batch_hull([block(40, 3, 3), block(1, 1, 1, (40, 1, 1))])) == 1


def test_a_part_that_would_tip_over_its_side_is_not_laid_on_it():
    """A wedge rests on a side only where its centre of gravity, a third up from its foot, is over that."""
    leaning = prism([(0, 0), (10, 0), (43, 30), (33, 30)], 21)
    found = sides(posed(leaning).mesh)
    assert not any(side[2] > 0.99 for side in found), "its upper side is no foot: the middle lies beside it"
    assert any(abs(side[1]) > 0.99 for side in found)


@pytest.mark.parametrize("better, other, is_better", [
    ((0.0, 4.0, 20.0), (1.2, 4.0, 20.0), True), ((0.0, 4.0, 20.0), (0.8, 4.0, 20.0), False),
    ((0.0, 4.0, 15.9), (0.0, 4.0, 20.0), True), ((0.0, 4.0, 16.1), (0.0, 4.0, 20.0), False),
    ((0.05, 4.0, 15.0), (0.0, 4.0, 20.0), True), ((0.2, 4.0, 15.0), (0.0, 4.0, 20.0), False),
    ((0.0, 11.0, 15.0), (0.0, 4.0, 20.0), False), ((0.0, 11.0, 15.0), (0.0, 12.0, 20.0), True)])
def test_a_pose_is_worth_turning_for(better, other, is_better):
    """Hanging mm2, bridge and height mm: 1 mm2 less to support, or a fifth lower with no more to support or bridge."""
    one, two = (PrintPose((0, 0, -1), *figures, contact=300.0, width=15.0) for figures in (better, other))
    assert clearly_better(one, two) is is_better
    assert not clearly_better(replace(one, contact=1.0), two), "it does not stand"
    assert clearly_better(one, replace(two, width=0.5)), "the other does not stand"
