"""Heat out of a closed box: through its walls, and with the air that rises through its vents.

Marks in the Source lines: SEEN, read in the source; MEM, from memory; CALC, worked out.
"""

from math import sqrt

from partgen.formulas import GRAVITY

AIR = 1.164 * 1007.0    # J/(m3 K): density times heat of air at 30 degrees C (textbook table, from memory)
AIR_TEMPERATURE = 303.0     # K
OPENING_LOSS = 2.8      # of one opening, per velocity head: a sharp edge, 1/0.6^2 (textbook orifice, from memory)


def shed_by_walls(area: float, rise: float) -> float:
    """Heat that a small closed box sheds through its walls to still air.

    Q = 1.78 S (dT/2)^1.25: on average the air inside is half as warm as at its warmest.

    area: outer surface S, top and sides [mm2]
    rise: of the warmest air inside over the room, dT [K]
    Returns the heat [W].

    >>> print(f"{shed_by_walls(20000, 20):.2f}")
    0.63

    Source: MEM, Ishizuka's practical formula for casings of electronic equipment, its first term; thin walls of
    plastic take next to nothing off.
    """
    return 1.78 * area * 1e-6 * (rise / 2)**1.25


def vent_area(heat: float, height: float, rise: float) -> float:
    """Free area that inlets, and again outlets, need so that rising air carries a heat away.

    A = Q / (rho c dT sqrt(2 g h dT / (K T))), K = 2 losses of one opening

    heat: Q [W]
    height: from the middle of the inlets up to the middle of the outlets, h [mm], above 0
    rise: of the air that leaves over the room, dT [K], above 0
    Returns the area of either [mm2].

    >>> print(f"{vent_area(1.0, 15, 20):.0f}")
    724

    Source: SEEN, crmeng.com/projects/ventilation, its equations of heat flux and buoyancy solved for the area.
    """
    speed = sqrt(2 * GRAVITY * 1e-3 * height * 1e-3 * rise / AIR_TEMPERATURE / (2 * OPENING_LOSS))
    return heat / (AIR * rise * speed) * 1e6
