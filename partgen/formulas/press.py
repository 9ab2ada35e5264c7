"""A hub pressed on a shaft: what squeezes it, and the force that moves it along.

Marks in the Source lines: MEM, from memory; CALC, worked out.
"""

from math import pi


def hub_pressure(interference: float, shaft: float, hub: float, modulus: float, poisson: float) -> float:
    """Pressure between a hub and a shaft far stiffer than it, pressed in too narrow a bore.

    p = E (i/d)/((D^2 + d^2)/(D^2 - d^2) + nu)

    interference: by how much the bore is narrower than the shaft, i [mm]
    shaft: diameter d [mm], above 0
    hub: outer diameter D [mm], above d
    modulus: Young's modulus of the hub E [MPa]
    poisson: Poisson's ratio of the hub nu [1]
    Returns the pressure p [MPa].

    >>> print(f"{hub_pressure(0.03, 3, 6.6, 2000, 0.35):.2f}")
    10.69

    Source: CALC, Lame's thick ring in plane stress; the usual formula of press fits (MEM, machine design textbooks).
    """
    return modulus * interference / shaft / ((hub**2 + shaft**2) / (hub**2 - shaft**2) + poisson)


def slip_force(pressure: float, shaft: float, length: float, friction: float) -> float:
    """Force that moves a hub along its shaft.

    F = mu p pi d L

    pressure: between hub and shaft, p [MPa]
    shaft: diameter d [mm]
    length: of the hub L [mm]
    friction: mu [1]
    Returns the force [N]; times d/2 it is the torque that turns the hub [N mm].

    >>> print(f"{slip_force(10, 3, 6, 0.15):.1f}")
    84.8

    Source: Coulomb's law of friction on the shaft's surface.
    """
    return friction * pressure * pi * shaft * length
