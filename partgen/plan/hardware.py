"""Sizes of bought hardware, one row a size."""

from msgspec import Struct


class Screw(Struct, frozen=True):
    """A metric screw with its nut; all in mm.

    thread: nominal diameter. clearance: ISO 273 medium. head, head_height: ISO 4762 socket head.
    cone, cone_height: countersunk socket head, sharp cone (2.24 d and 0.62 d). nut, nut_height: ISO 4032,
    across flats and thickness. core: hole that the thread cuts itself into (common practice, no source). insert:
    pilot hole of a brass insert (practice: its makers' tables).
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


SCREWS = {
    "M2": Screw("M2", 2.0, 2.4, 3.8, 2.0, 4.48, 1.24, 4.0, 1.6, 1.6, 3.2),
    "M2.5": Screw("M2.5", 2.5, 2.9, 4.5, 2.5, 5.60, 1.55, 5.0, 2.0, 2.1, 3.6),
    "M3": Screw("M3", 3.0, 3.4, 5.5, 3.0, 6.72, 1.86, 5.5, 2.4, 2.5, 4.0),
}

DENSITY = {"PLA": 1.24e-3, "PETG": 1.27e-3, "ABS": 1.04e-3, "ASA": 1.07e-3}
"""Filament density [g/mm3]: PLA, PETG and ABS as published by filament sellers; ASA from memory."""

STRAIN = {"PLA": 0.025, "PETG": 0.04, "ABS": 0.025, "ASA": 0.025}
"""Strain [1] that a printed snap arm stands when it bends along its layers. PLA and PETG: the middle of 2 to 3
and 3 to 5 % (filamentfeed.com, "Snap fit design", 2026); ABS and ASA from memory, the safe side."""

REPEATED = 0.6
"""Share of that strain for an arm that is bent again and again (from memory, plastics design guides)."""
