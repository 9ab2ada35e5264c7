"""No figure of a train changes unseen: what some trains came out as when it was last looked at is kept in `known/`.

After a change on purpose, `python tests/known.py` writes it anew; `git diff` then shows what changed. What the figures
ought to be is held in the other tests.
"""

import re
from collections import Counter

import pytest
from known import FOLDER, NAMES, SOLID, said, shaped

NUMBER = re.compile(r"-?\d+\.?\d*(?:e[-+]?\d+)?")
CLOSE = 2e-5            # of a figure, and in its unit: other machines round the sixth place another way


def changes(lines, kept):
    """Return what is no longer as kept: (was, is) of every line."""
    old, new = map(_named, (kept, lines))
    return [(old.get(key), new.get(key)) for key in old | new if not _alike(old.get(key, ""), new.get(key, ""))]


def _named(lines):
    """Lines by what stands before their figure, of several alike by which it is of them."""
    met = Counter()
    found = {}
    for line in lines:
        key = line.partition(": ")[0]
        found[key, met[key]] = line
        met[key] += 1
    return found


def _alike(one, other):
    if one == other:
        return True
    near = pytest.approx([float(n) for n in NUMBER.findall(one)], rel=CLOSE, abs=CLOSE)
    return NUMBER.sub("", one) == NUMBER.sub("", other) and [float(n) for n in NUMBER.findall(other)] == near


def test_a_change_is_told():
    assert changes(["a: 1.00001", "b: 2 mm"], ["a: 1", "b: 2 mm"]) == []
    assert changes(["a: 1.001", "b: 2 mm"], ["a: 1", "b: 3 mm", "c: (1, 2)"]) == [
        ("a: 1", "a: 1.001"), ("b: 3 mm", "b: 2 mm"), ("c: (1, 2)", None)]
    assert changes(["a: 1", "a: 3", "a: 4"], ["a: 2", "a: 3"]) == [("a: 2", "a: 1"), (None, "a: 4")]


@pytest.mark.parametrize("name", NAMES)
def test_paper_is_as_kept(name):
    assert changes(said(name), (FOLDER / f"{name}.txt").read_text(encoding="utf-8").splitlines()) == []


@pytest.mark.slow
@pytest.mark.parametrize("name", SOLID)
def test_solids_are_as_kept(name):
    assert changes(shaped(name), (FOLDER / f"{name}-solids.txt").read_text(encoding="utf-8").splitlines()) == []
