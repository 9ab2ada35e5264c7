"""What a liquid does on a ride, integrated mode by mode by scipy: the judge of how `partgen.dynamics` adds up swings.

The wagon's guided points are put on the track one chord apart, the cup's place is differentiated twice in directions
that do not turn, and every mode is driven by that. Nothing here is imported from the package.
"""

import numpy as np
from scipy.signal import cont2discrete, lfilter

LEAD = 400.0        # mm of straight before an open plan
TICK = 0.001        # s: a sixth of a radian of the quickest mode


class Line:
    """A plan of (length, curvature) pieces [mm, 1/mm], straight before and beyond, or repeated as laps."""

    def __init__(self, pieces, laps=1):
        lengths, bends = np.array([*pieces] * laps).T
        self.bends = np.concatenate([[0.0], bends, [0.0]])
        self.bounds = np.concatenate([[-1e9, 0.0], np.cumsum(lengths)])
        self.headings = np.concatenate([[0.0], np.cumsum(np.append(0.0, lengths * bends))])
        chords = [length * np.exp(1j * (heading + bend * length / 2)) * np.sinc(bend * length / 2 / np.pi)
                  for length, bend, heading in zip(lengths, bends, self.headings[1:], strict=False)]
        self.corners = np.concatenate([[-1e9 + 0j, 0j], np.cumsum(chords)])
        self.length = float(lengths.sum())

    def at(self, s):
        """Points at stations `s`, complex [mm]."""
        piece = np.searchsorted(self.bounds, s, side="right") - 1
        way, bend = s - self.bounds[piece], self.bends[piece]
        from_zero = self.bounds[piece] < -1e8
        chord = way * np.exp(1j * (self.headings[piece] + bend * way / 2)) * np.sinc(bend * way / 2 / np.pi)
        return np.where(from_zero, s + 0j, self.corners[piece] + chord)

    def behind(self, s, base):
        """Station of the point one chord `base` behind that at `s` [mm], by Newton's method."""
        rear, there = s - base, self.at(s)
        for _ in range(6):
            gap = self.at(rear)
            slope = (self.at(rear + 1e-4) - gap) / 1e-4
            away = there - gap
            rear = rear + (np.abs(away) - base) / (np.real(np.conj(away) * slope) / np.abs(away))
        return rear

    def guided(self, s, wheelbase):
        """Middle of the chord `wheelbase` that is led at `s`, itself for 0."""
        return (self.at(s) + self.at(self.behind(s, wheelbase))) / 2 if wheelbase else self.at(s)


def cup_places(line, s, ahead, aside, base, bogie=0.0):
    """Places of a cup, led at stations `s`: on a rigid wagon, or on one whose pivots `base` apart are led by bogies."""
    if not base:
        return line.at(s)
    front = line.guided(s, bogie)
    rear = line.guided(line.behind(s, base), bogie)         # of bogies: their leading wheelsets one base apart
    way = (front - rear) / np.abs(front - rear)
    return (front + rear) / 2 + (ahead + 1j * aside) * way


def swung(places, modes, tick=TICK):
    """Highest rise [mm] of a liquid whose cup is at `places` at every `tick` [s], at rest before."""
    pull = np.diff(places, 2) / tick**2
    total = np.zeros(len(pull), dtype=complex)
    for omega, damping, rise in zip(*modes, strict=True):
        system = ([omega**2], [1.0, 2 * damping * omega, omega**2])
        above, below, _ = cont2discrete(system, tick, method="foh")
        total += rise * lfilter(above.ravel(), below, pull)
    return float(np.abs(total).max())


def at_speed(line, speed, stand, modes, after=1.0):
    """Highest rise [mm] at a speed [mm/s] for a cup that stands (ahead, aside, base, bogie)."""
    s = speed * np.arange(0.0, (line.length + LEAD + speed * after) / speed, TICK) - LEAD / 4
    return swung(cup_places(line, s, *stand), modes)


def highest(line, speeds, stand, modes):
    """The highest of many speeds."""
    return max(at_speed(line, float(speed), stand, modes) for speed in speeds)
