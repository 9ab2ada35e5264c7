"""The ride: speeds in curves, what a curve does to a cup, when to brake, how long the cells last.

Marks in the Source lines: SEEN, read in the source; MEM, from memory; CALC, worked out.
"""

import numpy as np


def curve_acceleration(speed, radius):
    """Level acceleration of a train on a curve, towards its inside.

    a = v^2/R

    speed: running speed v [mm/s]
    radius: curve radius R of the track centre line [mm], above 0
    Returns the acceleration [mm/s2].

    >>> print(f"{curve_acceleration(250, 320):.1f}")
    195.3

    Source: CALC, motion on a circle.
    """
    return np.square(speed, dtype=float) / radius


def curve_speed(radius, acceleration):
    """Highest speed on a curve for a limit of the level acceleration.

    v = sqrt(a R)

    radius: curve radius R of the track centre line [mm]
    acceleration: largest level acceleration a allowed [mm/s2], 0 or more
    Returns the speed [mm/s].

    >>> print(f"{curve_speed(320, 500):.0f}")
    400

    Source: CALC, motion on a circle.
    """
    return np.sqrt(np.multiply(radius, acceleration, dtype=float))


def curve_history(speed, lengths, curvatures, wheelbase=0.0, ahead=0.0):
    """Sideways acceleration that a cup feels while its wagon runs over curves without easements.

    Each change of curvature reaches the cup in two steps, 1/2 + x/W when the front axle passes it and
    1/2 - x/W when the rear one does. A wheelbase of 0 takes both at once: the sharper case, and the safer
    one to judge by.

    speed: running speed [mm/s], above 0
    lengths: of the pieces of track, shape (n,) [mm]
    curvatures: of each piece, 1/radius, left positive, 0 for a straight, shape (n,) [1/mm]
    wheelbase: axle to axle, or pivot spacing, W [mm], 0 for one step each
    ahead: how far the cup stands ahead of the middle of the wagon, x [mm]
    Returns (times [s], accelerations [mm/s2]) as `response` takes them, left positive; time 0 is when the
    front axle enters the first piece; straight track lies before the first and after the last.

    >>> times, accelerations = curve_history(200, [400, 400], [1 / 320, -1 / 320])
    >>> print(times, accelerations)
    [0. 0. 2. 2. 4. 4.] [   0.  125.  125. -125. -125.    0.]

    Source: CALC, second derivative of the place of a point on a chord of the track, worked out here.
    """
    if not speed > 0:
        raise ValueError(f"a ride at {speed:g} mm/s never ends: its speed must be above 0")
    passed = np.append(0.0, np.cumsum(lengths)) / speed
    change = speed**2 * np.diff(np.concatenate([[0.0], curvatures, [0.0]]))
    if wheelbase:
        passed = np.append(passed, passed + wheelbase / speed)
        change = np.append(change * (0.5 + ahead / wheelbase), change * (0.5 - ahead / wheelbase))
    order = np.argsort(passed, kind="stable")
    after = np.cumsum(change[order])
    return np.repeat(passed[order], 2), np.ravel([np.append(0.0, after[:-1]), after], order="F")


def marker_ahead(speed, sample_time, stop_distance):
    """How far ahead of a stop its marker begins, so that the train never runs past.

    d = s + v t_s: the sensor may see the marker up to one sample late.

    speed: running speed v [mm/s]
    sample_time: time between two readings of the sensor, t_s [s]
    stop_distance: way of the stop ramp, s [mm]
    Returns the distance from the marker's near end to where the sensor may stand at the latest [mm]; the
    stops scatter over the v t_s before it.

    >>> print(f"{marker_ahead(250, 0.02, 125):.1f}")
    130.0

    Source: CALC, worst moment between two samples.
    """
    return stop_distance + np.multiply(speed, sample_time)


def marker_length(speed, sample_time, samples=2):
    """Shortest marker that the sensor is sure to see.

    l = n v t_s

    speed: running speed v [mm/s]
    sample_time: time between two readings of the sensor, t_s [s]
    samples: readings n that must fall on the marker, two to tell it from a glitch [1]
    Returns the length [mm].

    >>> print(f"{marker_length(250, 0.02):.1f}")
    10.0

    Source: CALC; two samples are common practice, no source.
    """
    return samples * np.multiply(speed, sample_time)


def run_time(capacity, cell_voltage, efficiency, load_voltage, load_current):
    """How long a battery drives a load through a converter.

    t = Q U eta/(U_load I_load)

    capacity: charge Q of the battery [mAh]
    cell_voltage: mean voltage U at which that charge is counted [V], 3.7 V for most power banks
    efficiency: share eta of the energy that leaves the converter [1], above 0, at most 1
    load_voltage: voltage U_load of what is fed [V], above 0
    load_current: mean current I_load measured there [A], above 0
    Returns the time [s]; ValueError where efficiency or load is out of range.

    >>> print(f"{run_time(5000, 3.7, 0.85, 5.0, 0.4) / 3600:.2f} h")
    7.86 h

    Source: CALC, conservation of energy.
    """
    if not 0 < efficiency <= 1:
        raise ValueError(f"an efficiency of {efficiency:g} is outside 0 to 1")
    if not (load_voltage > 0 and load_current > 0):
        raise ValueError(f"a load of {load_voltage:g} V and {load_current:g} A is none: both must be above 0")
    return 3.6 * capacity * cell_voltage * efficiency / (load_voltage * load_current)
