"""What the gaps of a crossing do to a liquid: four wheels rolled over them, and the liquid's equation by scipy."""

from math import inf, radians, sqrt, tan

import numpy as np
import pytest
from scipy.signal import cont2discrete, lfilter
from test_jolts import BOWL, HIGH_TEA, G

from partgen.dynamics.curves import Stand
from partgen.dynamics.jolts import Gaps, on_joints


def rolled(s, middles, gaps, stand):
    """Height of a wheel's middle at stations `s` over that on level rails, gaps in the rail at `middles`."""
    height, half = np.zeros_like(s), gaps.gap / 2
    for middle in middles:
        off = np.minimum(half - np.abs(s - middle), stand.tread)
        sunk = stand.tread - np.sqrt(np.maximum(stand.tread**2 - off**2, 0))
        height -= np.where(off > 0, np.minimum(sunk, gaps.floor - stand.flange), 0)
    return height


def crossing_rise(liquid, stand, gaps, speed, tick=0.0005):
    """Highest rise [mm] over one crossing, four wheels rolled over its gaps, at rest before."""
    apart = sqrt(gaps.gauge**2 + gaps.skew**2)
    s = speed * np.arange(0, (30 + stand.base + 2 * apart + gaps.skew) / speed + 1.0, tick)
    sides = [30, 30 + apart], [30 + gaps.skew, 30 + apart + gaps.skew]
    front, rear = ([rolled(at, side, gaps, stand) for side in sides] for at in (s, s - stand.base))
    pitch = (sum(front) - sum(rear)) / 2 / stand.base
    roll = (front[0] - front[1] + rear[0] - rear[1]) / 2 / gaps.gauge
    total = 0.0
    for omega, damping, rise, high in zip(*liquid.modes, liquid.mode_heights, strict=True):
        above, below, _ = cont2discrete(([-(stand.height + high) * omega**2, 0.0, G * omega**2],
                                         [1.0, 2 * damping * omega, omega**2]), tick, method="foh")
        total = total + rise * (lfilter(above.ravel(), below, pitch) + 1j * lfilter(above.ravel(), below, roll))
    return float(np.abs(total).max())


@pytest.mark.parametrize("floor", [inf, 1.85])
@pytest.mark.parametrize("liquid, stand, gauge, speed", [
    (HIGH_TEA, Stand(32.5, 0, 70.0, 0, 68.0, 8.5, 1.7), 37.5, 262.0),
    (HIGH_TEA, Stand(0, 0, 50.0, 0, 90.0, 8.5, 1.7), 60.0, 300.0),
    (BOWL, Stand(0, 0, 70.0, 0, 40.0, 5.0, 1.7), 22.5, 150.0)])
def test_a_crossing_jolts_no_higher_than_told(liquid, stand, gauge, speed, floor):
    for angle in (90, 75, 45, 20):
        gaps = Gaps(4.0, floor, gauge / tan(radians(angle)), 1000.0, gauge, 1, False)
        for faster in (0.5, 0.8, 1.0):
            told, likely = on_joints(liquid, (stand,), gaps, faster * speed)
            found = crossing_rise(liquid, stand, gaps, faster * speed)
            assert 0.12 * told <= found <= told and likely < told


def test_flanges_on_the_floor_lift_and_lower_the_wagon():
    """A flange of 1.7 mm on a floor 1.4 mm down: each axle goes up by 0.3 mm at one end of a piece of 120 mm, down at
    its other."""
    stand, speed, tick = Stand(32.5, 0, 70.0, 0, 68.0, 8.5, 1.7), 262.0, 0.0005
    s = speed * np.arange(0, 1.6, tick)
    front, rear = (np.where((at > 30) & (at < 150), 0.3, 0.0) for at in (s, s - stand.base))
    total = 0.0
    for omega, damping, rise, high in zip(*HIGH_TEA.modes, HIGH_TEA.mode_heights, strict=True):
        above, below, _ = cont2discrete(([-(stand.height + high) * omega**2, 0.0, G * omega**2],
                                         [1.0, 2 * damping * omega, omega**2]), tick, method="foh")
        total = total + rise * lfilter(above.ravel(), below, (front - rear) / stand.base)
    told, _ = on_joints(HIGH_TEA, (stand,), Gaps(4.0, 1.4, 0.0, 1000.0, 37.5, 1, False), speed)
    found = float(np.abs(total).max())
    assert 0.2 * told <= found <= told
