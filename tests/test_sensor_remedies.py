"""What a maker is told to change where a track sensor hangs wrong, followed to the letter."""

import re
from itertools import product

import pytest
from plans import train_of

from partgen.checks.sensor import sensor_gap


@pytest.mark.parametrize("gauge, heights", [("gauge-16.5", (9, 12)), ("gauge-32", (9, 14))])
def test_what_a_sensors_gap_is_told_to_be_ends_the_matter(gauge, heights):
    """Followed to the letter it never comes back to a gap that it has had: on small gauges frame and rails leave a
    board no gap at all, which is said, and with how high a coupler there is one."""
    for height, gap, head in product(heights, (1.0, 2.5, 4.0), ({}, {"head": [8, 6, 4]}, {"head": [12, 8, 10]})):
        eye = {"length": 14, "width": 8, "height": 5, "mass": 4, "mount": "tape",
               "looks_out": [{"side": "bottom", "width": 3, "height": 3}]} | head
        for _ in range(3):
            told = {"wheelset": {"standard": {"use": gauge}}, "track": {"use": gauge}, "module": {"eye": eye},
                    "printer": {"use": "bed-180"}, "coupler": {"use": "magnet-5x2", "height": height}}
            train = train_of({"modules": ["eye"], "sensor_gap": gap, "screw": "M2"}, **told)
            left = [one.reason for one in sensor_gap(train) if one.verdict == "fail" and "sensor_gap" in one.reason]
            if not left:
                break
            gap = float(re.search(r"set sensor_gap to ([\d.]+) mm", left[0])[1])
            height = float((re.search(r"raise coupler.height to ([\d.]+) mm", left[0]) or [0, height])[1])
        assert not left, (gauge, head)
