"""Random trains: what the generator draws, and what commands owe to every one of them."""

import tomllib
from random import Random

import pytest
from trains import NEAR, random_description
from trains.dice import Dice, fields, leaves, toml
from trains.draft import draft
from trains.edge import KINDS, DescriptionError, loads
from trains.presets import names

DRAFTS = 200


# ---- the generator ----------------------------------------------------------------------------------------------

def test_a_seed_gives_the_same_train_again_and_another_seed_another():
    assert random_description(3) == random_description(3) != random_description(4)
    assert random_description(3, near="limits") == random_description(3, near="limits")
    assert random_description(Random(3)) == random_description(3)


def test_what_is_written_is_what_was_drawn():
    data = draft(Dice(Random(8), *NEAR["middle"]))
    assert tomllib.loads(toml(data)) == data


@pytest.mark.parametrize("wishes, holds", [
    ({"wagons": 3}, lambda train: len(train.wagon) == 3),
    ({"gauge": 45.0}, lambda train: train.track.gauge == 45),
    ({"gauge": "toy-37.5"}, lambda train: train.track.gauge == 37.5),
    ({"modules": True}, lambda train: any(wagon.modules for wagon in train.wagon)),
    ({"modules": False, "cups": False}, lambda train: not train.module and not train.cup),
    ({"cups": True}, lambda train: any(wagon.cups for wagon in train.wagon)),
    ({"bogies": True}, lambda train: all(wagon.pivot_spacing for wagon in train.wagon)),
    ({"bogies": False}, lambda train: not any(wagon.pivot_spacing for wagon in train.wagon)),
    ({"closed": True}, lambda train: train.track.closed),
    ({"closed": False}, lambda train: not train.track.closed),
    ({"obstacles": True}, lambda train: train.track.obstacle),
    ({"second": False}, lambda train: train.track.spacing is None),
])
def test_wishes_are_met(wishes, holds):
    assert all(holds(loads(random_description(seed, **wishes))) for seed in range(8))


@pytest.fixture(scope="module")
def drawn():
    """All that some hundred drafts hold: path of a field, its tables' own names left out, to the values met."""
    found: dict[tuple, set] = {}
    for seed in range(DRAFTS):
        for near in NEAR:
            _collect((), draft(Dice(Random(seed), *NEAR[near])), found)
    return found


def _collect(path, table, found):
    for key, value in table.items():
        here = (*path, key)
        inner = value if isinstance(value, list) else [value]
        if path == () and key in ("wheelset", "module", "cup"):
            inner = list(value.values())
        if inner and isinstance(inner[0], dict):
            for entry in inner:
                _collect(here, entry, found)
        else:
            found.setdefault(here, set()).add(str(value))


def test_every_field_is_drawn_and_every_word_of_every_choice(drawn):
    """A field that is missing here is a list that `trains/wagons.py` or `trains/layout.py` has yet to draw."""
    known = [pair for kind, model in KINDS.items() for pair in fields((kind,), model)]
    assert not [".".join(path) for path, _ in known if path not in drawn]
    for path, field in known:
        words = {leaf for leaf in leaves(field.annotation) if isinstance(leaf, str)}
        missing = {word for word in words if not any(word in value for value in drawn[path])} - {field.default}
        assert not missing, f"{'.'.join(path)} is never {missing}"


def test_every_preset_is_drawn(drawn):
    for kind in ("track", "wheelset", "coupler", "printer", "ride", "module", "cup"):
        assert set(names(kind)) <= drawn[kind, "use"], kind


def test_most_of_what_is_drawn_loads_at_once():
    for near in NEAR:
        loaded = [_loads(toml(draft(Dice(Random(seed), *NEAR[near])))) for seed in range(DRAFTS)]
        assert sum(loaded) > 0.9 * DRAFTS, near


def _loads(text):
    try:
        return bool(loads(text))
    except DescriptionError:
        return False
