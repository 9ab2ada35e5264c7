"""Filament and time of a part, from its layers: outlines, solid skins, infill.

Every layer of the mesh is cut out half way up. Lines along the outlines cover a band as wide as all of them; what
lies within a few layers of open air above or below is skin; of the rest a share is filled.
"""

import numpy as np
from manifold3d import CrossSection
from msgspec import Struct
from msgspec.structs import astuple
from trimesh import Trimesh

from partgen.describe.printer_tables import Printer
from partgen.formulas.plastic import filament_length, print_time, strands
from partgen.plan.hardware import DENSITY
from partgen.solids.overlap import solid

FINE = 0.003             # mm: corners of a layer nearer to a straight line are left out
_HAIR = 1e-6


class Estimate(Struct, frozen=True):
    """What one print takes: plastic [mm3], filament [mm], its mass [g], time [s] without heating up."""

    plastic: float
    filament: float
    mass: float
    time: float

    def __mul__(self, count: int) -> "Estimate":
        return Estimate(*(count * value for value in astuple(self)))

    def __add__(self, other: "Estimate") -> "Estimate":
        return Estimate(*(a + b for a, b in zip(astuple(self), astuple(other), strict=True)))

    def record(self) -> dict[str, float]:
        """Return it as data for manifest and report: metres, grams and seconds."""
        return {"filament_m": round(self.filament / 1000, 2), "filament_g": round(self.mass, 1),
                "print_time_s": round(self.time)}


NOTHING = Estimate(0.0, 0.0, 0.0, 0.0)


def estimate(mesh: Trimesh, printer: Printer) -> Estimate:
    """Return what a mesh [mm] takes to print as it stands on z = 0."""
    slicing, line = printer.slicing, printer.line_width
    around, skin, hollow = _areas(mesh, printer)
    outline, solid_fill, sparse = strands(around, skin, hollow, slicing.infill / 100, line)
    fills = solid_fill + sparse
    plastic = float((outline + fills).sum() * line * printer.layer)
    time = print_time(outline, fills, slicing.outline_speed, slicing.fill_speed, slicing.first_speed,
                      slicing.travel / 100)
    return Estimate(plastic, filament_length(plastic, slicing.filament), plastic * DENSITY[printer.material], time)


def assumptions(printer: Printer) -> str:
    """Say in words what the estimates take for granted."""
    slicing = printer.slicing
    return (f"Estimated for {slicing.perimeters:g} lines round every outline, {slicing.skins:g} solid layers below and "
            f"above, {slicing.infill:g} % infill, layers of {printer.layer:g} mm, lines of {printer.line_width:g} mm; "
            f"outlines at {slicing.outline_speed:g} mm/s, the rest at {slicing.fill_speed:g} mm/s, the first layer at "
            f"{slicing.first_speed:g} mm/s, and {slicing.travel:g} % more for moves, layer changes and corners; "
            f"{slicing.heating:g} s to heat up before each plate. Acceleration is not modelled. "
            f"Filament {slicing.filament:g} mm, {1e3 * DENSITY[printer.material]:g} g/cm3.")


def _areas(mesh: Trimesh, printer: Printer) -> np.ndarray:
    """Return the areas (3, n) [mm2] of outline bands, skins and hollow in each layer, from the bed up."""
    skins, band = round(printer.slicing.skins), printer.slicing.perimeters * printer.line_width
    cuts, areas = _layers(mesh, printer.layer), []
    for k, cut in enumerate(cuts):
        core, covered = cut.offset(-band), skins <= k < len(cuts) - skins
        inside, deep = core.area(), (core ^ cuts[k - skins] ^ cuts[k + skins]).area() if covered else 0.0
        areas.append((cut.area() - inside, inside - deep, deep))
    return np.array(areas).T


def _layers(mesh: Trimesh, layer: float) -> list[CrossSection]:
    """Return the cut through a mesh half way up each of its layers."""
    body, height = solid(mesh), float(mesh.bounds[1, 2])
    count = max(1, int(np.ceil(height / layer - _HAIR)))
    return [body.slice(min((k + 0.5) * layer, height - _HAIR)).simplify(FINE) for k in range(count)]
