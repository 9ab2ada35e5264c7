"""Every verdict that the checks of the ride can give, each on a train that it must fail and on one that it must not."""

import pytest
from conftest import described

from partgen.checks.on_plan import run
from partgen.plan.train import resolve

TEAS = "cups = ['tea', 'tea']"
HEAVY = "\n[[wagon]]\nname = 'two'\nwheelbase = 64\ncups = ['tea', 'tea', 'tea']\nwidth = 60"
CALM = "speed = 120\nstop_time = 6\nstart_time = 6\n"
SLICK = "[cup.slick]\nprofile = [[0, 40], [12, 58], [30, 60]]\nmass = 90\nwall = 2\nfriction = 0.02\nfill = 0"
LONG = "[train.locomotive]\nlength = 700\nwheelbase = 180"
SLOPPY = {"wagon": TEAS, "ride": "[ride]\nspeed = 190\nstop_time = 1.1\nstart_time = 1.3"}


def ride(words, wagon=TEAS, **more):
    """One wagon of tea on a calm ride, but for `words`."""
    keys = [line.split(" = ")[0] for line in words.splitlines()]
    calm = "\n".join(line for line in CALM.splitlines() if line.split(" = ")[0] not in keys)
    return {"wagon": wagon, "ride": f"[ride]\n{calm}\n{words}", **more}


VERDICTS = {        # name: (check, who, words of the remedy, a train that fails, one that holds)
    "tips outwards": ("tip-curve", "one", "sideways", ride("speed = 900"), ride("speed = 300")),
    "tips inwards": ("tip-curve", "one", "sideways", ride("start_time = 0.1\nspeed = 700", "" + HEAVY),
                     ride("start_time = 2\nspeed = 300", "" + HEAVY)),
    "tips as it stops": ("tip-stop", "one", "over an outer axle", ride("speed = 900\nstop_time = 0.2"),
                         ride("speed = 300\nstop_time = 2")),
    "tips as it starts": ("tip-stop", "one", "over an outer axle", ride("speed = 900\nstart_time = 0.2"),
                          ride("speed = 300\nstart_time = 2")),
    "tips aside, standing": ("tip-standing", "one", "sideways",
                             ride("floor_tilt = 10\ntip_safety = 2", "cups = ['tea']"),
                             ride("floor_tilt = 1\ntip_safety = 2", "cups = ['tea']")),
    "tips lengthwise, standing": ("tip-standing", "one", "over an outer axle", ride("gradient = 15\nfloor_tilt = 5"),
                                  ride("gradient = 2\nfloor_tilt = 1")),
    "one axle is light": ("axle-load", "one", "lighter axle", ride("", "cups = ['tea', 'tea', 'tea']"), ride("")),
    "cup tips": ("cup-hold", "one/tea", "tips over the edge", ride("speed = 3000\nstop_time = 0.1"), ride("")),
    "cup climbs": ("cup-hold", "one/slick", "climbs the wall",
                   ride("speed = 1500\nstop_time = 0.1", "cups = ['slick']", cup=SLICK),
                   ride("speed = 400\nstop_time = 0.1", "cups = ['slick']", cup=SLICK)),
    "spills in curves": ("spill-curve", "one/tea", "on the curves", ride("speed = 800"), SLOPPY),
    "spills at a stop": ("spill-stop", "one/tea", "at starts and stops", ride("speed = 300\nstop_time = 0.1"), SLOPPY),
    "spills at a start": ("spill-stop", "one/tea", "at starts and stops", ride("speed = 300\nstart_time = 0.1"),
                          SLOPPY),
    "stop takes longer": ("spill-stop", "stop", "a stop that keeps", ride("ramp = 'shaped'\nstop_time = 0.2"),
                          ride("ramp = 'shaped'\nstop_time = 1")),
    "start takes longer": ("spill-stop", "start", "a start that keeps", ride("ramp = 'shaped'\nstart_time = 0.2"),
                           ride("ramp = 'shaped'\nstart_time = 1")),
    "drawbar turns too far": ("coupler-swing", "locomotive + one", "the drawbar turns", {"coupler": "swing = 12"}, {}),
    "wagons too long to be pulled round": (
        "coupler-swing", "locomotive + one", "no coupled pair goes round",
        {"track": "min_radius = 94", "coupler": "gap = 4", "ride": LONG}, {}),
    "bodies meet": ("body-gap", "locomotive + one", "the bodies come within", {"coupler": "gap = 6"}, {}),
    "bodies too long to be pulled round": (
        "body-gap", "locomotive + one", "no coupled pair goes round",
        {"track": "min_radius = 94", "coupler": "gap = 4", "ride": LONG}, {}),
    "faces miss": ("coupler-height", "locomotive + one", "the faces miss",
                   {"ride": "[train.locomotive]\ncoupler_height = 16"},
                   {"ride": "[train.locomotive]\ncoupler_height = 14"}),
    "magnets let go": ("coupler-pull", "locomotive + one", "the magnets hold", {"coupler": "remanence = 0.2"}, {}),
    "magnets lift a stuck wagon": ("coupler-pull", "one/break-away", "stuck",
                                   {"ride": "[train.locomotive]\nmass = 2500\nadhesion = 0.6"}, {}),
    "locomotive slips": ("adhesion", "locomotive", "its wheels slip", {"ride": "[train.locomotive]\nadhesion = 0.05"},
                         {"ride": "[train.locomotive]\nadhesion = 0.5"}),
    "flange climbs": ("string-line", "one", "wheel climb",
                      {"wheelset": "flange_angle = 55", "ride": "[ride]\nspeed = 3000\nstart_time = 0.1"}, {}),
    "flange climbs as it stops": (
        "string-line", "one", "push, as it stops in a curve, drives it outward",
        ride("speed = 600\nrolling = 0.01\nstop_time = 0.15", TEAS + HEAVY),
        ride("speed = 300\nrolling = 0.01\nstop_time = 2", TEAS + HEAVY)),
    "pull tips": ("string-line", "one", "tipping",
                  {"coupler": "height = 30", "ride": "[ride]\nspeed = 3000\nstart_time = 0.1\nwheel_friction = 0.05",
                   "wheelset": "flange_angle = 88"}, {}),
}


def findings(check, who, lines):
    found = run(resolve(described(**lines)), only={check})
    return [one for one in found if one.check == check and str(one.subject) == who]


@pytest.mark.parametrize("name", VERDICTS)
def test_verdict_fails_where_it_must_and_only_there(name):
    check, who, words, bad, good = VERDICTS[name]
    wrong, = (found for found in findings(check, who, bad) if words in found.reason)
    assert wrong.verdict == "fail"
    assert [found.verdict for found in findings(check, who, good)] == ["pass"]
