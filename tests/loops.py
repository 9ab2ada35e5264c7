"""A closed loop with two stops, and rides planned on it."""

from conftest import bare

from partgen.describe.load import loads
from partgen.dynamics import ride as rides
from partgen.plan import train as trains

LOOP = """
plan = [{ go = "straight", length = 1405 }, { go = "left", radius = 320, angle = 90 },
        { go = "straight", length = 540 }, { go = "left", radius = 320, angle = 90 },
        { go = "straight", length = 250 }, { go = "right", radius = 320, angle = 45 },
        { go = "left", radius = 320, angle = 90 }, { go = "right", radius = 320, angle = 45 },
        { go = "straight", length = 250 }, { go = "left", radius = 320, angle = 90 },
        { go = "straight", length = 540 }, { go = "left", radius = 320, angle = 90 }]
closed = true
stop = [{ name = "tea */ kitchen", station = 900 }, { name = "Fensterplätze", station = 2900 }]
"""
CUPS = 'cups = ["tea", "tea"]'


def planned(**lines):
    return rides.resolve(trains.resolve(loads(bare(**lines))))


def loop(ride="", track=LOOP, **lines):
    shaped = "" if "ramp" in ride else "ramp = 'shaped'"
    return planned(track=track, ride=f"[ride]\n{shaped}\n{ride}", wagon=lines.pop("wagon", CUPS), **lines)


SLOW = "ramp = 'even'\nspeed = 400\nstart_time = 1\ntip_safety = 3.4\nfloor_tilt = 1.5\nsample_time = 0.013"
SEEING = {"module": 'looks_out = [{ side = "bottom", width = 8, height = 8 }]', "wagon": f'{CUPS}\nmodules = ["box"]'}
