"""Filament and time of a part or a plate, from the paths of every layer."""

from collections.abc import Callable, Iterator
from functools import cache, cached_property
from typing import Any

import numpy as np
from manifold3d import CrossSection
from msgspec import Struct
from trimesh import Trimesh

from partgen.describe.printer_tables import Printer
from partgen.formulas.plastic import filament_length, layer_count
from partgen.kept import Store
from partgen.plan.hardware import DENSITY
from partgen.printing.paths import Work, jump_time, layer_work, outlines
from partgen.solids.mesh_key import digest
from partgen.solids.overlap import solid

FINE = 0.012             # mm: corners of a layer nearer to a straight line are left out
NEIGHBOUR = 60.0         # mm from a piece on a plate to the next (as counted, see tests/bench)
SLOWEST = 10.0           # mm/s: no layer is slowed down further so that it cools (common practice, no source)
ALIKE = 0.05             # mm2: layers that differ by less take the same
BELOW = 0.001            # mm: cuts are so little below half way up, where many a face lies


class Estimate(Struct, frozen=True, eq=False, dict=True):
    """What one print takes: plastic [mm3], filament [mm], its mass [g], and its layers from the bed up.

    For each layer (4, n): time with acceleration and without it [s], the longest it may be slowed down to [s], pieces
    that have it; a layer takes `least` [s] if it can, and the way to another piece `hop` [s]. Whatever is added is
    printed side by side.
    """

    plastic: float
    filament: float
    mass: float
    layers: np.ndarray
    least: float = 0.0
    hop: float = 0.0

    @cached_property
    def time(self) -> float:
        """How long it takes [s], without heating up.

        Slicing programs slow a layer down by what it takes without acceleration.
        """
        moving, plain, slowest, pieces = self.layers
        hops = self.hop * pieces * (pieces > 1)
        plain = plain + hops
        slowed = np.maximum(plain, np.minimum(self.least, slowest))
        return float((slowed + (moving + hops - plain) * plain / slowed).sum())

    def __mul__(self, count: int) -> "Estimate":
        return Estimate(count * self.plastic, count * self.filament, count * self.mass, count * self.layers,
                        self.least, self.hop)

    def __add__(self, other: "Estimate") -> "Estimate":
        high = max(self.layers.shape[1], other.layers.shape[1])
        one, two = (np.pad(each.layers, ((0, 0), (0, high - each.layers.shape[1]))) for each in (self, other))
        return Estimate(self.plastic + other.plastic, self.filament + other.filament, self.mass + other.mass,
                        one + two, max(self.least, other.least), max(self.hop, other.hop))

    def record(self) -> dict[str, float]:
        """Return it as data for manifest and report: metres, grams and seconds."""
        return {"filament_m": round(self.filament / 1000, 2), "filament_g": round(self.mass, 1),
                "print_time_s": round(self.time)}


NOTHING = Estimate(0.0, 0.0, 0.0, np.zeros((4, 0)))


def estimated(mesh: Trimesh, printer: Printer, kept: Store) -> Estimate:
    """Return `estimate`, or what is kept of it."""
    return kept_estimate((digest(mesh), printer), lambda: estimate(mesh, printer), kept)


def kept_estimate(things: tuple[Any, ...], make: Callable[[], Estimate], kept: Store) -> Estimate:
    """Return what is kept of all that the estimate hangs on, or what is made."""
    plain = kept.data("estimates", things, lambda: _plain(make()), _Plain)
    return Estimate(plain.plastic, plain.filament, plain.mass, np.array(plain.layers), plain.least, plain.hop)


class _Plain(Struct, frozen=True):
    """An estimate as plain numbers."""

    plastic: float
    filament: float
    mass: float
    layers: list[list[float]]
    least: float
    hop: float


def _plain(one: Estimate) -> _Plain:
    return _Plain(one.plastic, one.filament, one.mass, one.layers.tolist(), one.least, one.hop)


def estimate(mesh: Trimesh, printer: Printer) -> Estimate:
    """Return what a mesh [mm] takes to print as it stands on z = 0."""
    slicing, work = printer.slicing, np.array([(one.seconds, one.plain, one.strand, one.area)
                                               for one in _layers(mesh, printer)]).T
    plastic = float(work[3].sum() * printer.layer)
    layers = np.stack([work[0], work[1], work[2] / SLOWEST, np.ones(work.shape[1])])
    return Estimate(plastic, filament_length(plastic, slicing.filament), plastic * DENSITY[printer.material], layers,
                    slicing.least_layer_time, jump_time(NEIGHBOUR, slicing))


def assumptions(printer: Printer) -> str:
    """Say in words what the estimates take for granted, and what the files allow for."""
    slicing = printer.slicing
    shrinks = (f" The plastic shrinks by {printer.shrink:g} %: in parts and plates all is drawn so much larger along "
               "the bed, so do not scale it again; STEP files have it as it shall measure." if printer.shrink else "")
    return (f"Estimated for {slicing.perimeters:g} lines round every outline, {slicing.skins:g} solid layers below and "
            f"above, {slicing.infill:g} % infill except in parts told to be printed solid, layers of {printer.layer:g} "
            f"mm, lines of {printer.line_width:g} mm; "
            f"outlines at {slicing.outline_speed:g} mm/s, the rest at {slicing.fill_speed:g} mm/s, the first layer at "
            f"{slicing.first_speed:g} mm/s, jumps at {slicing.travel_speed:g} mm/s with {slicing.retraction:g} s each "
            f"to draw the filament back; acceleration {slicing.acceleration:g} mm/s2, corners at "
            f"{slicing.corner_speed:g} mm/s, no layer under {slicing.least_layer_time:g} s; "
            f"{slicing.heating:g} s to heat up before each plate. "
            f"Filament {slicing.filament:g} mm, {1e3 * DENSITY[printer.material]:g} g/cm3.{shrinks}")


def _layers(mesh: Trimesh, printer: Printer) -> Iterator[Work]:
    """Yield what each layer takes, from the bed up; what is alike is worked out once."""
    cuts, kinds = _cuts(mesh, printer.layer)
    skins = round(printer.slicing.skins)

    @cache
    def outlined(kind: int, first: bool) -> tuple[CrossSection, Work]:
        return outlines(cuts[kind], first, printer)

    @cache
    def work(kind: int, near: tuple[int, int] | None, first: bool) -> Work:
        around = None if near is None else [cuts[other] for other in range(near[0], near[1] + 1) if other != kind]
        return layer_work(cuts[kind], outlined(kind, first), around, first, printer)

    for number, kind in enumerate(kinds):
        covered = skins <= number < len(kinds) - skins
        yield work(kind, (kinds[number - skins], kinds[number + skins]) if covered else None, number == 0)


def _cuts(mesh: Trimesh, layer: float) -> tuple[list[CrossSection], list[int]]:
    """Return the cuts half way up a mesh's layers, those left out that are like the one below, and which each has."""
    body, height = solid(mesh), float(mesh.bounds[1, 2])
    cuts: list[CrossSection] = []
    kinds = []
    for number in range(layer_count(height, layer)):
        cut = body.slice(min((number + 0.5) * layer, height) - BELOW).simplify(FINE)
        if not cuts or abs(cut.area() - cuts[-1].area()) > ALIKE or (cut - cuts[-1]).area() > ALIKE:
            cuts.append(cut)
        kinds.append(len(cuts) - 1)
    return cuts, kinds
