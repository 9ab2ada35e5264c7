"""Sizes of bought hardware, one row a size; what filaments stand, and what hands do."""

from msgspec import Struct

SHARP = 0.9             # a countersunk head's width over its sharp cone's (from memory)
BITE = 2.3              # thread that must hold in plastic, over its diameter
RELIEF, RELIEF_DEEP = 1.1, 0.25     # width and depth of the cone at a core's mouth, over the thread's diameter
ROUND = 2.0             # plastic round a core, outside, over the thread's diameter
"""Those four: rules for screws in moulded plastic, engagement 2.3 d, relief 1.05 to 1.1 d over 0.25 to 0.5 d, boss 2 to
2.5 d; read on secondary pages, no standard seen."""
SPARE = 0.5             # of a core beyond the screw's end (from memory)
LEAST_SPARE = 0.1       # beyond the longest screw's end, at least (common practice, no source)
FILLED = 0.8            # of a nut's height that must be on the thread (common practice, no source)
LENGTHS = (3, 4, 5, 6, 8, 10, 12, 16, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 80)
"""Preferred lengths of screws [mm]. Source: ISO 888, from memory."""

LONGER = {3: 0.20, 6: 0.24, 10: 0.29, 18: 0.35, 30: 0.42, 50: 0.50, 80: 0.60}
"""By how much [mm] a screw of a length up to that [mm] may be longer or shorter. Source: ISO 4759-1 grade A, js15 by
ISO 286-1, from memory."""

SHIM_RINGS = {3.0: 6.0, 4.0: 8.0, 5.0: 10.0, 6.0: 12.0, 7.0: 13.0, 8.0: 14.0, 9.0: 15.0, 10.0: 16.0, 11.0: 17.0,
              12.0: 18.0}
"""Outside by inside diameter [mm] of shim rings, from 0.1 mm thickness on. Source: DIN 988, from memory."""


def sold(least: float) -> int:
    """Return the shortest preferred length [mm] of at least `least` [mm], the longest where none is."""
    return min((length for length in LENGTHS if length >= least - 1e-9), default=LENGTHS[-1])


def least_spare(length: float) -> float:
    """Return how far [mm] a screw so long [mm] must stay from what it would come through."""
    return LEAST_SPARE + next((off for longest, off in LONGER.items() if length <= longest), max(LONGER.values()))


class Driven(Struct, frozen=True):
    """A screw that cuts its own thread: the length to buy, and how deep its core must be from its mouth [mm]."""

    length: int
    core_depth: float


class Screw(Struct, frozen=True):
    """A metric screw with its nut; all in mm.

    thread: nominal diameter. clearance: ISO 273 medium. head, head_height: ISO 4762 socket head.
    cone, cone_height: countersunk socket head, sharp cone (2.24 d and 0.62 d). nut, nut_height: ISO 4032,
    across flats and thickness. core: hole that the thread cuts itself into, its diameter less its pitch (ISO 261).
    insert: pilot hole of a brass insert (practice: its makers' tables).
    """

    name: str
    thread: float
    clearance: float
    head: float
    head_height: float
    cone: float
    cone_height: float
    nut: float
    nut_height: float
    core: float
    insert: float

    @property
    def sunk_head(self) -> tuple[float, float]:
        """Half the width [mm] of a countersunk head, and how high [mm] over the face it lies flush with: its cone is
        blunt, so that its own face comes a little below."""
        return SHARP * self.cone / 2, (SHARP - 1) * self.cone / 2

    @property
    def bite(self) -> float:
        """How much thread [mm] must hold in plastic."""
        return BITE * self.thread

    @property
    def relief(self) -> tuple[float, float]:
        """Width and depth [mm] of the cone at a core's mouth: the first turn would lift the plastic's edge."""
        return RELIEF * self.thread, RELIEF_DEEP * self.thread

    @property
    def loose(self) -> float:
        """How far [mm] below a core's mouth its cone is too wide for the thread to hold."""
        wide, deep = self.relief
        return deep * (wide - self.thread) / (wide - self.core)

    def driven(self, clamped: float, reach: float = 0.0) -> Driven:
        """Return what holds something `clamped` [mm] thick: the shortest on sale that bites and comes `reach` [mm]
        below the core's mouth."""
        length = sold(clamped + max(self.bite + self.loose, reach))
        return Driven(length, length - clamped + max(SPARE, least_spare(length)))


SCREWS = {
    "M2": Screw("M2", 2.0, 2.4, 3.8, 2.0, 4.48, 1.24, 4.0, 1.6, 1.6, 3.2),
    "M2.5": Screw("M2.5", 2.5, 2.9, 4.5, 2.5, 5.60, 1.55, 5.0, 2.0, 2.05, 3.6),
    "M3": Screw("M3", 3.0, 3.4, 5.5, 3.0, 6.72, 1.86, 5.5, 2.4, 2.5, 4.0),
}

DENSITY = {"PLA": 1.24e-3, "PETG": 1.27e-3, "ABS": 1.04e-3, "ASA": 1.07e-3}
"""Filament density [g/mm3]: PLA, PETG and ABS as published by filament sellers; ASA from memory."""

STEEL = 7.85e-3         # density [g/mm3]


class Plastic(Struct, frozen=True):
    """A filament, printed, along its layers: Young's modulus and strength [MPa], strain [1] that a snap arm stands."""

    modulus: float
    strength: float
    strain: float

    @property
    def plate(self) -> float:
        """Modulus [MPa] of an arm much wider than thick, which cannot narrow where it is stretched."""
        return self.modulus / (1 - POISSON**2)

    def permissible(self, share: float) -> float:
        """Return the strain [1] allowed to an arm: `share` of what it stands, and no more than is in proportion."""
        return min(share * self.strain, self.strength / self.modulus)


PLASTICS = {
    "PLA": Plastic(3500, 53, 0.025),
    "PETG": Plastic(2000, 50, 0.04),
    "ABS": Plastic(2100, 40, 0.025),
    "ASA": Plastic(2000, 40, 0.025),
}
"""Modulus and strength: Processes 13(9) 2733; ASA from memory. Strain of PLA and PETG: the middle of 2 to 3 and 3 to
5 % (filamentfeed.com, "Snap fit design", 2026); of ABS and ASA from memory, the safe side."""

POISSON = 0.35          # of the usual filaments (from memory)
ONCE, OFTEN = 0.7, 0.4
"""Share of that strain for a snap closed once or a few times, and for one opened again and again (moulders' guides,
read on secondary pages)."""

FRICTION = 0.15, 0.7
"""Least and most between a snap's faces: plastic on steel from 0.15 (CRC Materials Science handbook, table 399),
printed PLA dry up to 0.76, its counterface not told (Materials Science-Poland 2025-0039); for PETG none was found."""

ROOT = 0.44
"""How much longer than it is a printed arm bends, over its thickness, since what it stands on gives way: finite
elements, in the tests."""

THUMB, LEAST_HOLD = 40.0, 5.0
"""N: what a snap is pressed in with at most (pinch 40 N, a page of ergonomic guidelines; 30 % of the thumb's maximum is
30 to 40), and held by at least (common practice, no source)."""
