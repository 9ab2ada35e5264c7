"""Throw with play: a rigid body put by its guided points wherever they may stand, and the leaflets' lever."""

from itertools import product
from math import acos, asin, cos, sin

import numpy as np
import pytest
import shapely
from conftest import described
from hypothesis import given, settings
from hypothesis import strategies as st

from partgen.checks.track import inner_throw, outer_throw
from partgen.dynamics.survey import play_of, runners
from partgen.motion.play import shifted
from partgen.plan.train import resolve

HALF_PLAY = (37.5 + 0.2 - 31.2 - 2 * 2.6) / 2       # of the preset's wheels between its rails where they are widest
BODIES = {"box": [(66, 30), (-66, 30), (-66, -30), (66, -30)], "leaning": [(70, 4), (10, 31), (-52, 22), (-40, -18)],
          "triangle": [(60, 0), (-60, 25), (-60, -25)]}


@pytest.mark.parametrize("body", BODIES)
@settings(max_examples=30)
@given(st.floats(30, 150), st.floats(0.01, 1.5), st.floats(-1, 1), st.floats(-1, 1))
def test_no_place_that_play_allows_reaches_farther_than_three_outlines(body, base, play, front, rear):
    z = np.array(BODIES[body]) @ (1, 1j)
    turn = asin(play * (front - rear) / base)
    moved = z * (cos(turn) + 1j * sin(turn)) + 1j * play * (front + rear) / 2
    for way in np.exp(1j * np.concatenate([side * np.pi / 2 + np.linspace(-0.5, 0.5, 21) for side in (1, -1)])):
        most = max(((one @ (1, 1j)) * np.conj(way)).real.max() for one in shifted(BODIES[body], base, play))
        assert (moved * np.conj(way)).real.max() <= most + 0.01 * play


@pytest.mark.parametrize("n, play, base", [(20.0, 0.6, 70.0), (31.0, 1.1, 64.0)])
def test_beyond_an_axle_play_grows_with_the_leaflets_lever(n, play, base):
    # MEM: the form (q)(2 n + a)/a of the railways' gauging leaflets; Commission Decision 2006/861/EC, appendix C, SEEN:
    # the least favourable position is to be taken
    x = base / 2 + n
    reach = max(float(one[:, 1].max()) for one in shifted([(x, 30), (-x, 30), (-x, -30), (x, -30)], base, play))
    assert reach - 30 == pytest.approx(play * (2 * n + base) / base, rel=0.02)


def on_circle(radius, base, corners, play):
    """Farthest and least distance of a body from a circle's middle, its guided points up to `play` beside it, each."""
    far, near = 0.0, np.inf
    for out, back in product((-play, 0.0, play), repeat=2):
        one, two = radius + out, radius + back
        turn = acos((one**2 + two**2 - base**2) / (2 * one * two))
        ahead, behind = one + 0j, two * (cos(turn) + 1j * sin(turn))
        along = (ahead - behind) / abs(ahead - behind)
        z = (ahead + behind) / 2 + along * (np.array(corners) @ (1, 1j))
        body = shapely.Polygon(np.column_stack((z.real, z.imag)))
        far, near = max(far, np.abs(z).max()), min(near, body.distance(shapely.Point(0, 0)))
    return far, near


def test_throw_on_a_circle_is_that_of_a_body_put_everywhere():
    """Today's outlines ran on the centre line as on rails without play: 1 to 2 mm less."""
    track = "plan = [{go = 'left', radius = 400, angle = 180, times = 2}]\nclosed = true\n" \
            "clearance = [{low = 0, high = 200, half_width = 90}]"
    train = resolve(described(track=track, wagon="cups = ['tea']\nlength = 130\nwidth = 60"))
    plan, = train.wagons
    play = play_of(plan, train.description)
    assert play == pytest.approx(HALF_PLAY + 0.4), "and 0.4 mm at either end of the axle in its holder"
    found = [on_circle(400, plan.base, one.points, play) for one in plan.outlines]
    (inner,), (outer,) = list(inner_throw(train)), list(outer_throw(train))
    assert outer.value == pytest.approx(max(far for far, _ in found) - 400, abs=0.02)
    assert inner.value == pytest.approx(400 - min(near for _, near in found), abs=0.02)
    still = [on_circle(400, plan.base, one.points, 0.0) for one in plan.outlines]
    assert outer.value > max(far for far, _ in still) - 400 + 1.2


def test_each_play_counts():
    tight = resolve(described(track="gauge_tolerance = 0"))
    wide = resolve(described(track="gauge_tolerance = 1"))
    (one,), (other,) = tight.wagons, wide.wagons
    assert play_of(other, wide.description) - play_of(one, tight.description) == pytest.approx(0.5)
    for train in (tight, wide):
        front, behind = runners(train)
        assert front.play == pytest.approx(behind.play - one.gear.clip.end_play / 2)


def test_remedy_tells_how_much_of_the_throw_is_play():
    train = resolve(described(track="clearance = [{low = 0, high = 200, half_width = 30}]", wagon="width = 60"))
    finding, = outer_throw(train)
    told = float(finding.reason.split("outside, ")[1].split()[0])
    assert finding.verdict == "fail" and 1.0 < told < 3.0


def test_a_throw_that_holds_tells_its_play_too():
    # before, only the words of one that failed did
    for check in (inner_throw, outer_throw):
        finding, = check(resolve(described()))
        still, = check(resolve(described(track="gauge_tolerance = 0")))
        share = float(finding.note.removesuffix(" mm of it by play"))
        assert finding.verdict == "pass" and finding.record()["note"] == finding.note
        assert share >= 0.5 and finding.value > still.value, "the gauge's tolerance is a part of the play"
