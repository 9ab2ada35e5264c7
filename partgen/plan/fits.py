"""The one table of fits: what each kind leaves free, and what this printer makes of it.

Every plan that draws a hole for something, or a peg into something, asks here. The offsets are the printer's own,
measured on a coupon; the facets are those that `mesh.py` makes of a circle. Shrinkage is no matter of fits: whatever is
printed is laid on the bed so much larger (`built.lay`).
"""

from math import atan2, cos

from msgspec import Struct

from partgen.describe.printer_tables import Printer
from partgen.formulas.plastic import bore, printed_bore
from partgen.plan.hardware import Screw

CHORD = 0.02            # mm: how far a mesh's chords may stand off a true curve
TURN = 0.2              # rad: from one chord of a mesh to the next, at most
SIDES = 63              # of a meshed bore: the mesher is twice as fine as TURN asks, a test counts them
FACETS = 0.05           # mm: what a mesh's chords take off a wall between two circles
FOOT = 0.4              # mm: bevel of whatever fits and lies on the bed, where the first layers spread


class Fit(Struct, frozen=True):
    """A kind of fit: how much larger than what goes in the printed hole shall be [mm], and what that does."""

    clearance: float
    what: str


FITS = {
    "press": Fit(0.0, "pushed in by force, stays"),
    "wheel": Fit(-0.02, "pressed on a metal rod in a vice, stays"),
    "core": Fit(0.0, "a screw cuts its own thread into it"),
    "insert": Fit(0.05, "a brass insert is melted into it; its pilot hole is held to -0 / +0.1"),
    "snug": Fit(0.1, "pushed in by hand, stays until pulled"),
    "magnet": Fit(0.1, "as snug; glue takes up the rest"),
    "tube": Fit(0.1, "a metal tube clipped into a holder"),
    "bearing": Fit(0.05, "a ball bearing's outer ring, pushed in by hand, does not turn"),
    "screw": Fit(0.0, "a screw passes: its clearance is in the hole's standard size already"),
    "running": Fit(0.25, "an axle or a pivot turns in it"),
    "sliding": Fit(0.35, "a printed part slides along another"),
    "free": Fit(0.7, "never touches"),
}
"""Kinds of fit by name (common practice, no source): true for a printer whose offsets are measured."""


def hole(nominal: float, kind: str, printer: Printer, sides: int | None = SIDES) -> float:
    """Return the diameter to draw [mm] for a round hole that takes something `nominal` wide."""
    return bore(nominal + FITS[kind].clearance, printer.bore_offset, sides)


def relief(screw: Screw, printer: Printer) -> tuple[float, float]:
    """Return width to draw and depth [mm] of the cone at the mouth of a core that `screw` cuts its thread into."""
    wide, deep = screw.relief
    return hole(wide, "core", printer), deep


def walled(screw: Screw, printer: Printer, bevel: float) -> float:
    """Return the least diameter to draw [mm] round a core that `screw` cuts its thread into: two lines stay, also where
    the cone at its mouth comes below the `bevel` [mm] of what is round it, and square to that cone."""
    core, (wide, deep) = hole(screw.core, "core", printer), relief(screw, printer)
    upright = core + 2 * (printer.thinnest_wall + FACETS) + (wide - core) * max(1 - bevel / deep, 0.0)
    return max(upright, wide + 2 * (printer.thinnest_wall * cos(atan2((wide - core) / 2, deep)) + FACETS))


def slot(nominal: float, kind: str, printer: Printer) -> float:
    """Return the width to draw [mm] between two flat faces that take something `nominal` wide."""
    return hole(nominal, kind, printer, sides=None)


def taken(drawn: float, kind: str, printer: Printer) -> float:
    """Return how wide [mm] a thing a round hole drawn `drawn` wide takes: `hole` backwards."""
    return printed_bore(drawn, printer.bore_offset, SIDES) - FITS[kind].clearance


def outside(nominal: float, printer: Printer) -> float:
    """Return the size to draw [mm] of something solid that shall measure `nominal`."""
    return nominal - printer.peg_offset


def peg(nominal: float, kind: str, printer: Printer) -> float:
    """Return the size to draw [mm] for a peg that goes into an opening drawn `nominal` wide: the one comes out thicker,
    the other narrower than drawn."""
    return nominal - FITS[kind].clearance - printer.peg_offset - printer.bore_offset


def printed(drawn: float, spread: float) -> float:
    """Return how thick [mm] an arm drawn at least two lines thick comes out, whose strands spread by `spread`: a line
    at least."""
    return max(drawn + spread, drawn / 2)


def nearer(printer: Printer) -> float:
    """Return by how much [mm] a face on a printed peg comes nearer to one in a printed opening than both are drawn."""
    return (printer.peg_offset + printer.bore_offset) / 2
