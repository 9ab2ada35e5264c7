"""The coupon: a small plate with ladders of the very holes, pegs and snaps that a train's parts fit by.

Every step is drawn at the size that it is labelled with, without the printer's offsets: what it comes out as tells
them. Heights are over the bed, x and y from the plate's middle; all in mm.
"""

from math import ceil

from msgspec import Struct

from partgen.describe.description import Description
from partgen.describe.printer_tables import Printer
from partgen.plan import coupling, running_gear
from partgen.plan.context import context_of
from partgen.plan.fits import hole
from partgen.plan.hardware import SCREWS
from partgen.plan.running_gear.axle_clip import AxleClip

PLATE = 2.6             # or four lines under the lettering
ENGRAVED = 0.6
COLUMNS = 6
GAP = 3.4               # from a label to the next band
TALL = 6.0              # of pegs and walls over the plate
STAY = 8.0              # of a clip's foot on the plate: it is as tall as the axle is long between its wheels
RIB = 7.0               # length of walls and gaps
EDGE = 3.0              # plate round its ladders
LETTER = 4.2            # height of the type, capitals are three quarters of it
LETTER_LINES = 9.5      # the type is at least as many lines high, so that its strokes are two lines wide
BROAD = 0.72            # width of a bold figure over the type's height, about
FINE = 0.05             # mm from one press to the next
STEP = 0.1              # mm from one step to the next
CARD = 0.76             # mm: thickness of a bank card (ISO/IEC 7810, from memory), the gauge for the gaps
PEGS = (4.0, 6.0, 8.0)
SHARES = (0.86, 0.90, 0.94)
SINK = 1.0              # disc magnets stand by this much deeper than half in their pockets


class Rung(Struct, frozen=True):
    """One step of a ladder: the size it is drawn at and labelled with, and where its middle stands (x, y) [mm]."""

    size: float
    label: str
    x: float
    y: float


class Ladder(Struct, frozen=True):
    """A row of steps. `name` is its key in the form, `heading` stands on the plate at (x, y) [mm], its last line, any
    other over it.

    `gauge` is the size [mm] of what is tried in it, 0 where steps are only measured.
    """

    name: str
    heading: str
    gauge: float
    x: float
    y: float
    rungs: tuple[Rung, ...]

    @property
    def drawn(self) -> tuple[float, ...]:
        """Sizes as drawn [mm], or shares for a snap."""
        return tuple(rung.size for rung in self.rungs)


Row = tuple[str, str, float, list[float]]
"""A ladder's name, heading, gauge [mm] and sizes."""


class CouponPlan(Struct, frozen=True):
    """A coupon: a plate `length` by `width` by `thickness`, its ladders, and what they are cut for; mm."""

    length: float
    width: float
    thickness: float
    letter: float
    ladders: tuple[Ladder, ...]
    magnet: tuple[float, float]             # diameter and thickness as bought
    clips: tuple[AxleClip, ...]
    printer: Printer
    hub: tuple[float, float] = (0.0, 0.0)   # diameter and height of a printed wheel's, where there are such
    snapped: str = "axle"                   # what the clips are for: axle, tube or bearing; pin for none

    @property
    def block(self) -> float:
        """Height [mm] of the block that the magnets' pockets are sunk into."""
        return max(self.thickness, self.magnet[0] / 2 + 2 * STEP + SINK + max(1.4, self.printer.thinnest_wall))


def resolve(description: Description) -> CouponPlan:
    """Resolve the coupon for the wheelsets, magnets and screws of `description`."""
    printer, coupler, wagon = description.printer, description.coupler, description.wagon[0]
    wheelset, screw = description.wheelset[wagon.wheelset], SCREWS[wagon.screw]
    letter = max(LETTER, LETTER_LINES * printer.line_width)
    magnet = (coupler.magnet_diameter, coupler.magnet_length)
    axle = "tube" if wheelset.ends == "tube" else "axle"
    bearing = wheelset.tube_diameter if wheelset.ends == "tube" else wheelset.axle_diameter
    line = printer.line_width
    bands: list[tuple[float, list[Row]]] = [
        (bearing + 0.5, [(axle, axle.upper(), bearing, _steps(bearing, 6))]),
        (screw.thread, [("core", screw.name, screw.core, _steps(screw.core - STEP, 6))]),
        (magnet[1] + 3.0, [("magnet", "MAGNET", magnet[0], _steps(0.0, 5))]),
        (RIB, [("gap", "GAP", CARD, _steps(ceil(10 * (max(CARD, line) - 0.01)) / 10, 5))]),
        (max(PEGS), [("peg", "PEG", 0.0, list(PEGS)), ("wall", "WALL", 0.0, [round(k * line, 3) for k in (2, 4)])]),
    ]
    # An axle's points snap into no clip: the holder itself is what they are tried in.
    clips, hub = tuple(_clip(description, share) for share in SHARES if wheelset.ends != "pin"), (0.0, 0.0)
    if wheelset.printed:
        rod, hub = wheelset.axle_diameter, _hub(description)
        first = round(hole(rod, "wheel", printer), 2) - 2 * FINE
        bands.insert(1, (hub[0], [("press", "PRESS", rod, [round(first + k * FINE, 2) for k in range(COLUMNS)])]))
    snapped = "axle" if wheelset.ends == "plain" else wheelset.ends
    return _laid_out(bands, letter, magnet, clips, printer, hub, snapped)


def _hub(description: Description) -> tuple[float, float]:
    """Return diameter and height [mm] of the hubs of the first wagon's printed wheels."""
    context = context_of(description.wagon[0], description)
    wheel = running_gear.resolve(context, coupling.resolve(context)).wheel
    assert wheel
    return wheel.hub, wheel.width


def _steps(first: float, count: int) -> list[float]:
    return [round(first + k * STEP, 2) for k in range(count)]


def _clip(description: Description, share: float) -> AxleClip:
    """Return the first wagon's own clip, its opening that share of the axle."""
    printer = description.printer.model_copy(update={"snap_share": share})
    context = context_of(description.wagon[0], description.model_copy(update={"printer": printer}))
    clip = running_gear.resolve(context, coupling.resolve(context)).clip
    assert isinstance(clip, AxleClip)
    return clip


def _laid_out(bands: list[tuple[float, list[Row]]], letter: float, magnet: tuple[float, float],
              clips: tuple[AxleClip, ...], printer: Printer, hub: tuple[float, float],
              snapped: str) -> CouponPlan:
    """Stand the bands one behind the other, the first at the back, and the clips along the front edge."""
    labels = [_label(size) for size in (*SHARES, *(size for _, rows in bands for row in rows for size in row[-1]))]
    wide = max(max(PEGS), magnet[0] + 2.4, *(_broad(text, letter) for text in labels), hub[0],
               *(2 * clip.tip for clip in clips)) + 2.0
    words = [snapped, *(row[1] for _, rows in bands for row in rows)]
    column = max(map(len, words)) * 0.8 * letter + EDGE
    most = max(1, min(COLUMNS, int((min(printer.bed_x, printer.bed_y) - column - 2 * EDGE) / wide)))
    length = column + most * wide + 2 * EDGE
    width = EDGE + sum(reach + letter + GAP for reach, _ in bands) + (letter + 5.0 + STAY) * bool(clips)
    left, edge, ladders = -length / 2 + EDGE, (width - EDGE) / 2, []

    def ladder(row: Row, y: float, heading_y: float, at: int = 0) -> None:
        name, heading, gauge, sizes = row
        xs = (left + column + (k + 0.5) * wide for k in range(at, most))
        rungs = tuple(Rung(size, _label(size), x, y) for x, size in zip(xs, sizes, strict=False))
        if rungs:       # what has no room at the right is left out
            heading_x = left + column + (at - 1) * wide if at else left
            ladders.append(Ladder(name, heading, gauge, heading_x, heading_y, rungs))

    for reach, (first, *second) in bands:
        y = edge - reach / 2 - 1.0
        ladder(first, y, y)
        for other in second:
            ladder(other, y, y, len(first[-1]) + 1)
        edge -= reach + letter + GAP
    if clips:
        behind = -width / 2 + letter / 2 + 3.0 + STAY
        ladder(("snap", f"SNAP\n{snapped.upper()}", 0.0, list(SHARES)), -width / 2, behind)
    return CouponPlan(round(length, 2), round(width, 2), max(PLATE, ENGRAVED + 4 * printer.line_width), letter,
                      tuple(ladders), magnet, clips, printer, hub, snapped)


def _broad(text: str, letter: float) -> float:
    """Return how wide [mm] figures come out in type `letter` high, about: a point is half as wide as a figure."""
    return BROAD * letter * (len(text) - 0.4 * text.count("."))


def _label(size: float) -> str:
    """Return a size as short as it reads: 3.1, 0.45, .86 for a share."""
    return f"{size:.2f}".removesuffix("0")
