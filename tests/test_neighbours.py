"""Coupled bodies by shapely with the corners that they have, and couplers that miss each other by magpylib."""

import importlib.util
from itertools import pairwise

import numpy as np
import pytest
import shapely
from conftest import described
from plans import cured
from shapely import affinity

from partgen.checks.coupling import body_gap, coupler_height, coupler_pull
from partgen.dynamics.pull import grip_on_level, held_couplings, magnet_pull
from partgen.dynamics.stability import stuck
from partgen.dynamics.survey import pairs, path_of
from partgen.identity import LocomotiveId, StuckId
from partgen.motion.coupled import pair
from partgen.plan.outline import around
from partgen.plan.train import resolve

SECOND = "cups = ['tea']\n[[wagon]]\nname = 'two'\nwheelbase = 71\ncups = ['tea']\nmodules = ['box']"
S_BEND = "plan = [{go = 'left', radius = 320, angle = 60}, {go = 'right', radius = 320, angle = 60}]"


def rounded(length, width, radius):
    """A body from above as it is drawn, by shapely: a box grown by its corners' radius."""
    core = shapely.box(radius - length / 2, radius - width / 2, length / 2 - radius, width / 2 - radius)
    return core.buffer(radius, quad_segs=200) if radius else core


def stood(shape, stance):
    z, way = complex(stance.origin), complex(stance.ahead)
    return affinity.affine_transform(shape, [way.real, -way.imag, way.imag, way.real, z.real, z.imag])


@pytest.mark.parametrize("radius", [0.0, 1.5, 4.0, 9.0])
def test_polygon_round_a_body_holds_all_of_it_and_hardly_more(radius):
    drawn, found = rounded(120, 50, radius), shapely.Polygon(around(120, 50, radius))
    assert found.buffer(1e-9).contains(drawn)
    assert found.hausdorff_distance(drawn) <= 0.011 * radius + 1e-9


@pytest.mark.parametrize("track", ["", S_BEND])
def test_bodies_come_no_nearer_than_their_gap(track):
    """With corners of two chords each, and round ones on the locomotive, gaps were told up to 0.3 mm too large."""
    train = resolve(described(track=track, wagon=SECOND, coupler="gap = 18"))
    path = path_of(train.description.track)
    corners = [0.0, *((plan.lid or plan.body).corner for plan in train.wagons)]
    for (corner, behind), one, finding in zip(pairwise(corners), pairs(train), body_gap(train), strict=True):
        least = one.coupled.least_gap
        at = pair(path, one.link, np.array(least.lead))
        true = stood(rounded(one.front.length, one.front.width, corner), at.front).distance(
            stood(rounded(one.rear.length, one.rear.width, behind), at.rear))
        assert finding.value == least.value
        assert true - 0.08 <= least.value <= true + 1e-6


def test_a_locomotive_has_sharp_corners():
    train = resolve(described(track=S_BEND))
    assert next(pairs(train)).front.corner == 0.0


# ---- couplers that miss each other

def missing(by, **more):
    return resolve(described(ride=f"[train.locomotive]\ncoupler_height = {13 + by}\nmass = 900", **more))


@pytest.mark.skipif(importlib.util.find_spec("magpylib") is None, reason="magpylib, the judge, is not installed")
def test_faces_that_miss_each_other_pull_less():
    """1.5 mm passed as if they met."""
    import magpylib

    bar = missing(0).wagons[0].coupling.front

    def force(away):
        lower, upper = (magpylib.magnet.Cylinder(polarization=(0, 0, 1.2), dimension=(0.006, 0.003), position=place)
                        for place in ((0, 0, 0), (away / 1000, 0, (3 + 2 * bar.skin) / 1000)))
        return magpylib.getFT(lower, upper, meshing=20000)[0][2]

    met, missed = (next(held_couplings(missing(by)))[2] for by in (0, 1.5))
    assert missed / met == pytest.approx(force(1.5) / force(0), abs=0.01)
    assert 0.75 < missed / met < 0.85


def test_what_missing_costs_decides_whether_the_train_is_held():
    met, missed = (next(one for one in coupler_pull(missing(by, coupler="remanence = 0.41"))
                        if not isinstance(one.subject, StuckId)) for by in (0, 1.5))
    assert met.subject.front == missed.subject.front == LocomotiveId()
    assert (met.value / met.limit) > (missed.value / missed.limit)
    for finding in coupler_height(missing(1.5)):
        assert finding.verdict == "pass"
    for finding in coupler_height(missing(1.6)):
        assert finding.verdict == "fail" and "% of what they do in line" in finding.reason


def test_break_away_takes_the_stronger_figure():
    """Faces that slip into line pull as much as they can, and a locomotive does where the track is level."""
    train = missing(1.5, wagon="cups = ['tea']")
    (_, pulled, _), = stuck(train)
    plan, = train.wagons
    assert pulled == pytest.approx(min(magnet_pull(train.description.coupler, plan.coupling.front),
                                       grip_on_level(train)))
    steep = resolve(described(ride="[ride]\ngradient = 12\n[train.locomotive]\nmass = 400"))
    (_, pulled, _), = stuck(steep)
    assert pulled == pytest.approx(0.4 * 9.80665 * 0.3, rel=1e-6), "0.7 % less on the slope"


def test_stronger_magnets_are_found_for_faces_that_miss():
    train = missing(1.4, coupler="remanence = 0.2")
    bad = next(one for one in coupler_pull(train) if one.verdict == "fail" and not isinstance(one.subject, StuckId))
    word = cured(train, "coupler-pull", "the magnets hold")["coupler.remanence"]
    again = resolve(described(coupler=f"remanence = {word}",
                              ride="[train.locomotive]\ncoupler_height = 14.4\nmass = 900"))
    assert all(one.verdict == "pass" for one in coupler_pull(again) if one.subject == bad.subject)
