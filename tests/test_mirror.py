"""A train and its image in the mirror are judged alike; so are wagons that stand turned round on the same track.

Only what is no image of the other is left out, and why is said beside it.
"""

import cmath
import re
import tomllib

import pytest
from conftest import DEMO
from trains import mirrored, random_description
from trains.dice import fields
from trains.edge import KINDS, checked, laid, loads, resolved
from trains.mirror import spelt_out

TRAINS = [("middle", seed) for seed in range(16)] + [("limits", seed) for seed in range(7)]
WEIGHED = {"adhesion", "string-line", "coupler-pull", "tip-curve"}
"""What hangs on what all wagons weigh."""
LYING = WEIGHED | {"axle-load", "tip-standing", "tip-stop", "module-fit", "reach", "warm-module", "name-plate",
                   "sensor-gap", "mount-fit", "opening", "ballast"}
"""What hangs on where in a wagon its modules lie."""
NEAREST = {"passing", "obstacle"}
"""What hangs on whatever of the train reaches farthest."""
ONE_WAY = {"adhesion", "string-line", "coupler-pull", "tip-curve", "tip-stop", "spill-curve", "spill-stop", "cup-hold"}
"""What hangs on which end the locomotive pulls at, or on which curve a drink comes through first and still swings."""

SAME = 1e-6
SWEPT = 0.01            # mm: twice what an envelope is off at most (`motion.envelope.TOLERANCE`)
BETWEEN = 0.3           # mm by which two trains that pass may come nearer between the places looked at, 5 mm apart
ALLOWED = {"inner-throw": SWEPT, "outer-throw": SWEPT, "body-gap": SWEPT, "coupler-swing": SWEPT, "passing": BETWEEN}


# ---- in the mirror ----------------------------------------------------------------------------------------------

@pytest.mark.parametrize("near, seed", TRAINS)
def test_left_and_right_are_judged_alike(near, seed):
    judged_alike(spelt_out(random_description(seed, near)))


def test_the_demo_is_judged_alike_in_the_mirror():
    text = DEMO.read_text(encoding="utf-8")
    assert judged_alike(text) > 40


def judged_alike(text) -> int:
    """Hold every finding of a train to that in the mirror; return how many there were."""
    other = mirrored(text)
    wanted = held(text, other, 1)
    mine, its = found(text, wanted), found(other, wanted)
    assert mine.keys() == its.keys()
    for key in mine:
        for one, image in zip(mine[key], its[key], strict=True):
            assert (one.verdict, one.sense, one.unit) == (image.verdict, image.sense, image.unit), key
            assert one.value == pytest.approx(image.value, rel=SAME, abs=SAME), key
            assert one.limit == pytest.approx(image.limit, rel=SAME, abs=SAME), key
    return len(mine)


def held(text, other, ahead):
    """Return what says of a finding whether it must be the same in the other train.

    Modules may lie as well in another way that is no image of the first: the body is as large then, but it weighs and
    opens otherwise. Cups side by side may stand closer in other rows, and the ears of inserts are on the left in any
    case: such a wagon is another one.
    """
    images = {plan.name: plan for plan in resolved(other).wagons}
    pairs = [(plan, images[plan.name]) for plan in resolved(text).wagons]
    moved = {plan.name for plan, image in pairs if things(plan, ahead, -1) != things(image, 1, 1)}
    odd = {plan.name for plan, image in pairs if plan.inserts or handled(plan)
           or plan.body.size != pytest.approx(image.body.size) or seats(plan, ahead, -1) != seats(image, 1, 1)}

    def same(finding):
        wagons = set(finding.subject.wagons)
        loose = (moved & wagons and finding.check in LYING) or (moved and finding.check in WEIGHED)
        return not (loose or odd & wagons or odd and (finding.check in WEIGHED or finding.check in NEAREST))
    return same


def handled(plan):
    """Are there cups with handles? One in the middle is turned to the left in any case."""
    return any(cup.handle for _, cup in plan.cups)


def things(plan, ahead, left):
    """Return what stands in and on a wagon, its x times `ahead` and y times `left` [mm]."""
    boxes = [(one.name, ahead * one.x, left * one.y, one.z) for one in plan.layout.placed]
    boxes += [(one.name, ahead * one.x, left * one.y, -2.0) for one in plan.layout.leads]
    return _sorted(boxes) + seats(plan, ahead, left)


def seats(plan, ahead, left):
    """Return the same of its cups alone."""
    return _sorted([(seat.cup, ahead * seat.x, left * seat.y, -1.0) for seat, _ in plan.cups])


def _sorted(things):
    return sorted((name, *(round(at, 6) + 0.0 for at in place)) for name, *place in things)


def found(text, wanted):
    """Return the findings that are wanted, by check and by who is meant, the lowest value first."""
    by: dict[tuple, list] = {}
    for finding in checked(text):
        if wanted(finding):
            by.setdefault((finding.check, frozenset(str(finding.subject).split(" + "))), []).append(finding)
    return {key: sorted(group, key=lambda one: (one.value, one.limit)) for key, group in by.items()}


# ---- turned round -----------------------------------------------------------------------------------------------

@pytest.mark.parametrize("seed", range(12))
def test_wagons_are_judged_alike_whichever_end_is_pulled(seed):
    text = spelt_out(random_description(seed, second=seed % 3 == 0))
    other = mirrored(text, "front-back")
    same, bogied = held(text, other, -1), {plan.name for plan in resolved(text).wagons if plan.wagon.pivot_spacing}

    def wanted(finding):
        leans = finding.check == "tip-standing" and bogied & set(finding.subject.wagons)
        return same(finding) and of_wagons(finding) and not leans       # on its front bogie: the rear one rolls
    mine, its = found(text, wanted), found(other, wanted)
    assert mine.keys() == its.keys()
    for key in mine:
        for one, image in zip(mine[key], its[key], strict=True):
            allowed = ALLOWED.get(one.check, SAME)
            assert one.value == pytest.approx(image.value, rel=SAME, abs=allowed), key
            assert one.verdict == image.verdict or abs(one.margin) <= allowed, key


def of_wagons(finding):
    """Does it hang on wagons and track only? What of the train comes nearest to an obstacle may be the locomotive."""
    return "locomotive" not in str(finding.subject) and finding.check not in ONE_WAY | {"obstacle"}


# ---- the mirror itself ------------------------------------------------------------------------------------------

@pytest.mark.parametrize("way", ["left-right", "front-back"])
@pytest.mark.parametrize("seed", range(6))
def test_twice_mirrored_is_the_same(seed, way):
    text = spelt_out(random_description(seed, obstacles=True, second=True, modules=True, cups=False))
    once, twice = (tomllib.loads(mirrored(one, way)) for one in (text, mirrored(text, way)))
    data = tomllib.loads(text)
    assert once["track"] != data["track"]
    for one, other in zip(twice["track"].pop("obstacle"), data["track"].pop("obstacle"), strict=True):
        assert one["side"] == other["side"] and one["distance"] == other["distance"]
    assert loads(mirrored(mirrored(text, way), way)).track.plan == loads(text).track.plan
    assert twice["track"]["spacing_side"] == data["track"]["spacing_side"]
    assert [one.holes for one in loads(mirrored(mirrored(text, way), way)).module.values()] == \
        [one.holes for one in loads(text).module.values()]


@pytest.mark.parametrize("way", ["left-right", "front-back"])
def test_most_modules_are_not_their_own_image(way):
    texts = [random_description(seed, modules=True, cups=False) for seed in range(6)]
    assert sum(loads(mirrored(text, way)).module != loads(text).module for text in texts) >= 4


@pytest.mark.parametrize("seed", range(6))
def test_the_mirrored_track_ends_at_the_mirrored_place_and_the_one_run_backwards_where_it_began(seed):
    text = random_description(seed, closed=False)
    end, way = walked(laid(text))
    assert walked(laid(mirrored(text)))[0] == pytest.approx(end.conjugate())
    back, other = walked(laid(mirrored(text, "front-back")))
    assert end - way * back == pytest.approx(0, abs=1e-6) and other == pytest.approx(way.conjugate())


def walked(pieces):
    """Return where a walk along pieces of track (length, curvature) ends, complex, and its direction there."""
    at, way = 0j, 1 + 0j
    for length, bend in pieces:
        turn = cmath.exp(1j * bend * length)
        at += way * ((turn - 1) / (1j * bend) if bend else length)
        way *= turn
    return at, way


MIRRORED = {"track.plan.go", "track.obstacle.side", "track.spacing_side", "module.plugs", "module.looks_out.side",
            "module.looks_out.aside", "module.holes", "module.at", "wagon.at"}
EITHER = {"track.spacing", "module.turns", "cable.from"}        # speak of left and right, and mean both


def test_every_field_that_tells_left_from_right_is_known_to_the_mirror():
    """A new one here: let `trains/mirror.py` exchange it."""
    sided = {".".join(path) for kind, model in KINDS.items() for path, field in fields((kind,), model)
             if re.search(r"\b(left|right)\b", said(field))}
    assert sided == MIRRORED | EITHER


def said(field):
    """Return all that a field says of itself, less the words for what is not given."""
    text = f"{field.description} {field.annotation} {(field.json_schema_extra or {}).get('measure', '')}"
    return re.sub(r"\bleft (out|empty)\b", "", text)
