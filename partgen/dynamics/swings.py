"""How high the curves of a plan raise a liquid: what every wheelset brings from every joint, added up.

A curve's joints are a fixed way apart: what they leave swinging is added as it meets at a speed, that of wheelsets as
well, and whichever speed up to the running one is worst counts. From curve to curve nobody knows speed times time to
a tenth of a swing: there phases are not told, and amounts are added, less the damping over the way since, in whichever
direction they add up to most.
"""

from functools import lru_cache
from math import cos, floor, inf, log, pi

import numpy as np
from msgspec import Struct

from partgen.describe.track_tables import Track
from partgen.dynamics.curves import Course, OnTrack, Stand, course_of
from partgen.dynamics.liquids import Liquid
from partgen.formulas.bends import chord_swings, held_lean, joint_swings, smooth_in_speed

DIRECTIONS = np.exp(1j * pi / 12 * np.arange(12))       # of half a circle
BETWEEN = cos(pi / 24)  # of what lies between two of them is seen in either, at least
LAPS = 20.0             # that count of an undamped swing: nothing else ends it
MODES = 3               # added as they meet; all quicker ones, a sixteenth of the rise, by amount
STEP = 0.01             # of the logarithm of the speed, from one that is looked at to the next
BLOCK, BELOW, ABOVE = 16, 48, 32    # steps that are looked at together, and how many to either side
BLURRED = 0.35          # rad, a quarter of what phases within a curve shift by from speed to speed: beyond, any counts


@lru_cache(maxsize=2048)
def on_curves(liquid: Liquid, stands: tuple[Stand, ...], track: Track, speed: float, radius: float = 0.0) -> OnTrack:
    """Return what the curves of the track's plan make of a liquid in cups that stand as told on their wagons, run at
    any speed up to `speed` [mm/s], laps repeated. Curves sharper than `radius` [mm] are taken to be eased to it, as
    they are run the more slowly; 0 takes the plan as it is."""
    course = course_of(track, radius)
    if not course.sharpest:
        return OnTrack()
    where = log(speed) / STEP
    block = floor(where / BLOCK)
    at = where - block * BLOCK + BELOW
    alike: dict[tuple[float, float], list[Stand]] = {}      # at the same joints at once: added up together
    for stand in stands:
        alike.setdefault((stand.base, stand.bogie), []).append(stand)
    return OnTrack.worst(OnTrack(*(float(np.interp(at, np.arange(len(one)), one)) for one in told))
                         for some in alike.values()
                         for told in _over_speeds(liquid, tuple(some), track, radius, block))


class _Events(Struct, frozen=True):
    """The wheelsets of a wagon passing the joints of a plan, in order, shape (n,): the `joint`, which `wheelset`, the
    `way` from the event before [mm], whether a curve `begins`; the pieces all wheelsets `stand` on from there, numbered
    from 1 in the order of joints, and their shares turned by their headings, just `after` and just before the `next`
    event, shape (n, wheelsets); and by how much all leans turn in between, nan where pieces differ [rad]."""

    joint: np.ndarray
    wheelset: np.ndarray
    way: np.ndarray
    begins: np.ndarray
    stand: np.ndarray
    after: np.ndarray
    next: np.ndarray
    turned: np.ndarray


def _events_of(course: Course, one: Stand) -> _Events:
    """Return in which order a wagon's wheelsets pass the joints of a plan."""
    lags, shares = one.wheelsets
    bends, starts = np.append(course.before[0], course.after), np.append(0.0, course.stations)
    headings = np.append(course.heading[0], course.heading)
    passed = sorted((float(station + lag), joint, k) for joint, station in enumerate(course.stations)
                    for k, lag in enumerate(lags))
    stations, joints, wheelsets = (np.array(each) for each in zip(*passed, strict=True))
    lap = max(stations[0] + course.length, stations[-1]) if course.length else inf
    stand = np.zeros((len(passed), len(lags)), dtype=int)
    for event, (_, joint, k) in enumerate(passed):
        stand[event:, k] = joint + 1
    whole = np.append(True, (stand[:-1] == stand[:-1, :1]).all(axis=1))
    until = np.append(stations[1:], min(lap, stations[-1] + 1e9))

    def turned(at: np.ndarray) -> np.ndarray:
        return 1j * shares * np.exp(1j * (headings[stand] + bends[stand] * (at[:, None] - lags - starts[stand])))

    same = np.where((stand == stand[:, :1]).all(axis=1), bends[stand[:, 0]] * (until - stations), np.nan)
    return _Events(joints, wheelsets, np.diff(stations, prepend=stations[-1] - lap if course.length else stations[0]),
                   whole & (wheelsets == 0) & (np.abs(course.before[joints]) < 1e-12), stand, turned(stations),
                   turned(until), same)


Modes = tuple[np.ndarray, np.ndarray, np.ndarray]
"""Angular frequencies [rad/s], damping ratios [1] and rises [s2]."""


@lru_cache(maxsize=512)
def _over_speeds(liquid: Liquid, stands: tuple[Stand, ...], track: Track, radius: float, block: int) -> np.ndarray:
    """Return crest, swings, steady lean and likely crest at every step of a block of speeds and of some to either side,
    smooth in speed, of each stand on wheelsets as far apart, shape (stands, 4, speeds) [mm]."""
    course, speeds = course_of(track, radius), np.exp(STEP * (block * BLOCK + np.arange(-BELOW, BLOCK + ABOVE + 1)))
    omegas, dampings, rises = liquid.modes
    modes = omegas[:MODES + 1], dampings[:MODES + 1], np.append(rises[:MODES], rises[MODES:].sum())
    passed = [_events_of(course, stand) for stand in stands]
    brought = np.stack([_brought(course, stand, events, speeds, modes)
                        for stand, events in zip(stands, passed, strict=True)], axis=2)
    told, (every_swing, every_likely) = [], _added(course, passed[0], speeds, modes, brought)
    for number, events in enumerate(passed):
        swings, likely = every_swing[:, number], every_likely[:, number]
        lean, shown = _leans(course, events, speeds, modes)
        crest, most = (swings + shown).max(axis=(0, 2)) / BETWEEN, swings.max(axis=(0, 2)) / BETWEEN
        told.append([smooth_in_speed(speeds, one) for one in (
            crest, most, lean.max(axis=0), np.minimum((likely + lean).max(axis=0), crest))])
    return np.array(told)


def _brought(course: Course, stand: Stand, events: _Events, speeds: np.ndarray, modes: Modes) -> np.ndarray:
    """Return the two free swings that each event begins, in directions that do not turn, shape (events, 2, speeds,
    modes) [mm]."""
    omegas, dampings, rises = modes
    bends = course.before, course.after
    ahead = np.exp(1j * course.heading)[:, None] * rises
    across = 1j * ahead * joint_swings(speeds, *bends, omegas, dampings)
    share = stand.wheelsets[1][events.wheelset]
    found = share[:, None, None, None] * across[:, :, events.joint].transpose(2, 0, 1, 3)
    for wheelset, (chord, follows) in stand.chords.items():
        late = follows * ahead * chord_swings(speeds, chord, *bends, omegas, dampings)
        mine = events.wheelset == wheelset
        found[mine] += late[:, :, events.joint[mine]].transpose(2, 0, 1, 3)
    return found


def _leans(course: Course, events: _Events, speeds: np.ndarray, modes: Modes) -> tuple[np.ndarray, np.ndarray]:
    """Return how far the liquid leans steadily after each event, shape (events, speeds), and what shows of that in each
    direction at most until the next, shape (events, speeds, DIRECTIONS) [mm]."""
    bends = np.append(course.before[0], course.after)
    held = held_lean(np.outer(speeds, bends).ravel(), *modes[:2]) @ modes[2]
    leans = (speeds[:, None]**2 * bends * held.reshape(len(speeds), -1))[:, events.stand]
    begun, ended = ((leans * seen).sum(axis=2).T for seen in (events.after, events.next))
    lean = np.maximum(np.abs(begun), np.abs(ended))
    turned = np.where(np.isnan(events.turned)[:, None], np.angle(ended * np.conj(begun)), events.turned[:, None])
    middle = np.angle(np.where(begun, begun, ended)) + turned / 2
    return lean, lean[..., None] * _shown(middle, np.minimum(np.abs(turned), pi) / 2)


def _shown(middle: np.ndarray, half: np.ndarray) -> np.ndarray:
    """Return what shows in each direction at most, shape (..., DIRECTIONS), of 1 that turns by `half` [rad], a right
    angle at most, to either side of a `middle` [rad]: the cosine of how far off the direction lies beyond."""
    along = np.abs(np.cos(middle)[..., None] * DIRECTIONS.real + np.sin(middle)[..., None] * DIRECTIONS.imag)
    aside = np.abs(np.cos(middle)[..., None] * DIRECTIONS.imag - np.sin(middle)[..., None] * DIRECTIONS.real)
    near, far = np.cos(half)[..., None], np.sin(half)[..., None]
    return np.where(along >= near, 1.0, along * near + aside * far)


def _added(course: Course, events: _Events, speeds: np.ndarray, modes: Modes,
           brought: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return what swings after each event, all modes together, of what was `brought` to each stand, shape (events, 2,
    stands, speeds, modes): in each direction, shape (events, stands, speeds, DIRECTIONS), and what is likely to, shape
    (events, stands, speeds) [mm]; of a closed plan after all laps before.

    A sum of phases that is looked at in steps may be 1/cos(a quarter of what they shift by) higher in between.
    """
    pole = -modes[1] * modes[0] + 1j * modes[0] * np.sqrt(1 - np.square(modes[1]))
    turns = np.exp(np.array([pole, np.conj(pole)])[:, None] * (events.way[:, None, None] / speeds[:, None])[:, None])
    blurs = modes[0] / speeds[:, None] * STEP / 4
    known, way = np.zeros_like(brought[0]), np.zeros_like(blurs)            # this curve's, and since when [mm]
    squares = np.zeros(brought.shape[2:])                                   # all earlier curves'
    loose = np.zeros((*squares.shape, len(DIRECTIONS)))
    swings, likely = [], []
    for last in (False, True) if course.length else (True,):
        for turn, gone, begins, new in zip(turns, events.way, events.begins, brought, strict=True):
            fade, known, way = np.abs(turn[0]), known * turn[:, None], way + gone
            loose, squares = loose * fade[..., None], squares * fade**2
            free = begins | (blurs * way > BLURRED) | (np.arange(len(pole)) == MODES)
            some = slice(0 if free[:, :MODES].any() else MODES, None)
            loose[..., some, :] += np.where(free[:, some, None], _seen(known[..., some]), 0.0)
            squares += np.where(free, _long(known), 0.0)
            known, way = np.where(free, 0.0, known) + new, np.where(free, 0.0, way)
            if last:
                swings.append((loose + _seen(known) / np.cos(blurs * way)[..., None]).sum(axis=-2))
                likely.append(np.sqrt((squares + _long(known)).sum(axis=-1)))
        if not last:
            once = np.exp(pole.real * course.length / speeds[:, None])
            loose, squares = loose + _seen(known), squares + _long(known)
            loose = loose if course.comes_round else loose.max(axis=-1, keepdims=True) + 0 * loose
            loose = loose * np.minimum(1 / np.maximum(1 - once, 1e-9), LAPS)[..., None]
            squares = squares * np.minimum(1 / np.maximum(1 - once**2, 1e-9), LAPS)
            known = 0 * known
    return np.array(swings), np.array(likely)


def _seen(swings: np.ndarray) -> np.ndarray:
    """How far pairs of free swings reach in each direction, shape (..., DIRECTIONS)."""
    return np.abs(swings[0, ..., None] / DIRECTIONS + np.conj(swings[1, ..., None]) * DIRECTIONS)


def _long(swings: np.ndarray) -> np.ndarray:
    """Squares of the longer half axes of the ellipses that pairs of free swings draw."""
    return np.square(np.abs(swings).sum(axis=0))
