"""From a filled-in form to the printer's offsets, or to the figures that contradict the rest."""

from collections.abc import Iterator, Sequence

import numpy as np
from msgspec import Struct

from partgen.describe.coupon_form import Measured
from partgen.describe.field import limits
from partgen.describe.printer_tables import Printer
from partgen.errors import Fault, FormError
from partgen.formulas.plastic import fit_offsets

Offsets = dict[str, float]      # by their field of the printer [mm], shrinkage [%]

CLOSE = 0.12            # mm: a caliper's reading further from the rest than this is wrong (common practice, no source)
HOLLOW = ("axle", "tube", "press", "core", "magnet", "gap")
SPAN = 50.0             # mm: nothing shorter tells shrinkage from an offset
SLIGHT = 0.05           # %: shrinkage that comes out below none by no more than a caliper is off
FEEL = 0.5              # of a step: a thing that just goes in is about half a step smaller


class Reading(Struct, frozen=True):
    """One figure off the coupon: where it stands in the form, the size drawn and the size it came out as [mm].

    `doubt` is how far [mm] it may lie from the rest.
    """

    path: str
    drawn: float
    printed: float
    hollow: bool
    doubt: float


class Calibration(Struct, frozen=True):
    """The printer as measured, how well the figures agree [mm], how many there are, and what to know besides."""

    printer: Printer
    residual: float         # root mean square of what is left over
    worst: float            # largest of it
    readings: int
    notes: tuple[str, ...]


def calibrate(measured: Measured, printer: Printer) -> Calibration:
    """Return `printer` with the offsets that suit what was measured on its coupon.

    Whatever the form does not tell stays as it was. Raises FormError when nothing was measured, or naming
    every figure that contradicts the rest.
    """
    notes: list[str] = []
    readings = [*_by_caliper(measured), *_by_feel(measured, notes)]
    share = measured["snap"].fits if "snap" in measured else 0.0
    if not readings and not share:
        raise FormError([Fault("", "nothing was measured: fill in at least one figure of the form")])
    found, left = _agreed(readings, printer, notes)
    _in_range(found)
    values = {name: round(value, 4) for name, value in found.items()} | ({"snap_share": share} if share else {})
    rms = float(np.sqrt(np.mean(left**2))) if len(left) else 0.0
    return Calibration(Printer.model_validate(printer.model_dump() | values), rms,
                       float(np.abs(left).max(initial=0.0)), len(readings), tuple(notes))


def _by_caliper(measured: Measured) -> Iterator[Reading]:
    """Yield a reading for every figure that was measured; magnets' pockets are labelled by their clearance."""
    for name, rung in measured.items():
        if name == "snap":
            continue
        base = rung.gauge if name == "magnet" else 0.0
        for place, (drawn, size) in enumerate(zip(rung.drawn, rung.measured, strict=False), 1):
            if size:
                yield Reading(f"{name}.measured[{place}]", base + drawn, size, name in HOLLOW, CLOSE)


def _by_feel(measured: Measured, notes: list[str]) -> Iterator[Reading]:
    """Yield a reading for every gauge that was tried: it is half a step smaller than the first hole it goes into."""
    for name in HOLLOW:
        rung = measured.get(name)
        if rung is None or not rung.fits:
            continue
        place = min(range(len(rung.drawn)), key=lambda k: abs(rung.drawn[k] - rung.fits))
        if not place:
            notes.append(f"{name}.fits: it goes into the smallest step already, which tells nothing: measure the steps")
            continue
        step = rung.drawn[place] - rung.drawn[place - 1]
        base = rung.gauge if name == "magnet" else 0.0
        yield Reading(f"{name}.fits", base + rung.drawn[place] - FEEL * step, rung.gauge, True, CLOSE + FEEL * step)


def _agreed(readings: Sequence[Reading], printer: Printer, notes: list[str]) -> tuple[Offsets, np.ndarray]:
    """Return the offsets by name and what is left over (n,) [mm], once no reading contradicts the others."""
    kept, thrown = list(readings), list[Reading]()
    while True:
        found, left = _fitted(kept, printer, notes if not thrown else [])
        over = [abs(rest) - reading.doubt for rest, reading in zip(left, kept, strict=True)]
        if not over or max(over) <= 0:
            break
        thrown.append(kept.pop(int(np.argmax(over))))
    if thrown:
        raise FormError([_contradicts(reading, found, kept) for reading in thrown])
    return found, left


def _fitted(readings: Sequence[Reading], printer: Printer, notes: list[str]) -> tuple[Offsets, np.ndarray]:
    hollow = [reading.hollow for reading in readings]
    long = any(not reading.hollow and reading.drawn >= SPAN for reading in readings)
    solid = sum(not flag for flag in hollow) > long
    if long and not solid:
        notes.append("length alone does not tell shrinkage from the pegs' offset: measure a peg or a wall as well")
    bore, peg, shrink, left = fit_offsets(
        [reading.drawn for reading in readings], [reading.printed for reading in readings], hollow,
        shrink=None if long and solid else printer.shrink / 100, peg_offset=None if solid else printer.peg_offset,
        bore_offset=None if any(hollow) else printer.bore_offset)
    return {"bore_offset": bore, "peg_offset": peg, "shrink": 100 * shrink}, left


def _contradicts(reading: Reading, found: Offsets, kept: Sequence[Reading]) -> Fault:
    """Say what a reading would mean and what the others say."""
    shrunk = reading.drawn * (1 - found["shrink"] / 100)
    alone = shrunk - reading.printed if reading.hollow else reading.printed - shrunk
    name = "bore_offset" if reading.hollow else "peg_offset"
    return Fault(reading.path, f"{reading.printed:g} mm where {reading.drawn:g} mm was drawn makes {name} {alone:+.2f} "
                               f"mm, the other {len(kept)} figures make it {found[name]:+.2f} mm: measure it again, "
                               "or write 0 to leave it out")


def _in_range(found: Offsets) -> None:
    faults = [Fault(f"printer.{name}", f"{name} = {value:.2f} comes out of these figures, outside {low:g} to {high:g}: "
                                       "was the coupon printed at its true size?")
              for name, value in found.items() for low, high in [limits(Printer.model_fields[name])]
              if not low - SLIGHT <= value <= high]
    if faults:
        raise FormError(faults)
    found["shrink"] = max(found["shrink"], 0.0)
