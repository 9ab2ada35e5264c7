"""What to print again: pieces of one shape and filament are one as good as the other, and none is lost count of."""

import json
from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as some

from partgen.errors import OutputError
from partgen.export.reprint import changes, tell_printed, with_changes


def part(path, shape, count=1, filament="green", material="PLA"):
    return {"path": f"parts/{path}.stl", "part": path, "shape": shape, "material": material, "filament": filament,
            "count": count}


def body(*parts, ride=(), **more):
    return {"description_sha256": repr(parts), "ride": dict(ride), "files": [*parts], **more}


def changed(then, now, printed=True, **more):
    """Return what is told between parts and parts, what says nothing left out."""
    held = {"printed": printed, "description_sha256": "then", "ride": {}, "parts": then}
    return {name: {path.removeprefix("parts/").removesuffix(".stl"): what for path, what in found.items()}
            for name, found in changes(body(*now, **more), held).items() if found and isinstance(found, dict)}


def test_a_part_of_the_same_shape_under_another_name_is_as_printed():
    assert changed([part("one-lid", "A", 2)], [part("lid", "A", 2)]) == {
        "as_printed": {"lid": 2}, "renamed": {"lid": "parts/one-lid.stl"}}
    assert changed([part("lid", "A", 2)], [part("lid", "A"), part("two-lid", "A")]) == {
        "as_printed": {"lid": 1, "two-lid": 1}, "renamed": {"two-lid": "parts/lid.stl"}}
    assert changed([part("a", "A"), part("b", "B")], [part("a", "B"), part("b", "A")]) == {
        "as_printed": {"a": 1, "b": 1}, "renamed": {"a": "parts/b.stl", "b": "parts/a.stl"}}


def test_pieces_are_counted():
    assert changed([part("clip", "A", 2)], [part("clip", "A", 4)]) == {"more": {"clip": 2}, "as_printed": {"clip": 2}}
    assert changed([part("clip", "A", 4)], [part("clip", "A", 1)]) == {"over": {"clip": 3}, "as_printed": {"clip": 1}}
    assert changed([part("clip", "A"), part("sail", "S", 2)], [part("clip", "B", 4), part("lid", "L", 3)]) == {
        "print_again": {"clip": 4}, "new": {"lid": 3}, "gone": {"sail": 2}}
    assert changed([part("two", "A")], [part("two", "B"), part("three", "A")]) == {
        "new": {"two": 1}, "as_printed": {"three": 1}, "renamed": {"three": "parts/two.stl"}}
    assert changed([part("sail", "S"), part("clip", "A", 4)], [part("clip", "A")], asked={"only": ["stl"]}) == {
        "as_printed": {"clip": 1}}, "of what was not asked for nothing is known"
    assert changed([part("sail", "S")], [part("lid", "L")], printing={"within_h": 9, "left_out": []}) == {
        "new": {"lid": 1}}, "the sail is for a wagon that comes later"


@pytest.mark.parametrize("other", [{"filament": "cream"}, {"material": "PETG"}])
def test_another_filament_is_not_as_printed(other):
    assert changed([part("lid", "A")], [part("lid", "A", **other)]) == {"print_again": {"lid": 1}}


PARTS = some.dictionaries(some.sampled_from("abcd"), some.tuples(some.sampled_from("ABC"), some.integers(1, 4)))


@given(PARTS, PARTS)
def test_no_piece_is_lost_count_of(then, now):
    """What is there and what is to print make up what is needed; of every shape all that there was is used or over."""
    told = changed(*([part(name, *one) for name, one in parts.items()] for parts in (then, now)))
    here = Counter(told.get("as_printed", {}))
    need = here + Counter(told.get("print_again", {})) + Counter(told.get("new", {})) + Counter(told.get("more", {}))
    assert need == {name: count for name, (_, count) in now.items()}
    for shape in "ABC":
        there = sum(count for kind, count in then.values() if kind == shape)
        used = sum(here[name] for name, (kind, _) in now.items() if kind == shape)
        over = sum(count for name, count in told.get("over", {}).items() if now[name][0] == shape)
        assert used + over == (there if any(kind == shape for kind, _ in now.values()) else 0)
        assert used == min(there, sum(count for kind, count in now.values() if kind == shape))


def test_changes_gather_until_parts_are_told_as_printed(tmp_path):
    """Three builds, two numbers changed and nothing printed between: both are told; then only what comes after."""
    manifest = tmp_path / "manifest.json"
    def build(*parts, **more):
        whole = {"program": "partgen 0", "asked": None} | body(*parts, **more)
        before = json.loads(manifest.read_text()) if manifest.exists() else {}
        manifest.write_text(with_changes(json.dumps(whole), "tea.toml", before))
        return json.loads(manifest.read_text())["changed"]
    with pytest.raises(OutputError, match="holds no parts that could be printed: build them first"):
        tell_printed(tmp_path)
    first = part("lid", "A"), part("body", "B"), part("frame", "C")
    assert build(*first) is None and build(*first) is None
    build(part("lid", "A2"), *first[1:], ride={"speed": 250})
    third = part("lid", "A2"), part("body", "B2"), first[2]
    told = build(*third)
    assert [*told["print_again"]] == ["parts/body.stl", "parts/lid.stl"] and not told["printed"] and not told["ride"]
    assert build(*third) == told and build(*third, asked={"only": ["stl"]}) == told
    build(*third)
    tell_printed(tmp_path)
    told = build(*third)
    assert told["printed"] and not told["print_again"] and len(told["as_printed"]) == 3
    told = build(*first)
    assert [*told["print_again"]] == ["parts/body.stl", "parts/lid.stl"] and told["printed"]
    assert not build(*third)["print_again"], "taken back"
