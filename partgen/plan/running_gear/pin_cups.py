"""The cups that an axle's two points turn in: in cheeks outside the wheels, which spring apart to let the axle in.

A groove leads each point up from below to its cup, over a lip; how high that is follows from the push that a thumb has.
"""

from math import sqrt

from msgspec import Struct
from msgspec.structs import replace

from partgen.describe.printer_tables import Printer
from partgen.describe.wagon_tables import DEEPEST, Wheelset
from partgen.formulas.snap import arm_force, arm_strain, hung_give
from partgen.plan.fits import printed
from partgen.plan.hardware import FRICTION, PLASTICS, ROOT, THUMB
from partgen.plan.running_gear.axle_clip import least_hold

PLAY = 0.3              # of the axle along itself, both ends together
GROOVE = 0.3            # depth of the groove under the lip
LOWEST = 0.2            # lip, beyond the play
DEEPER = 0.2            # the groove's mouth, than the cup
RAMP = 3.0              # from the axle down to the groove's mouth
BESIDE = 1.2            # of plastic beside groove and cup, or two lines
PASSES = 12             # until lip, thickness and force agree within a hundredth
BETWEEN = 2.0           # kept free for the axle between the screws' heads, either way


class PinCups(Struct, frozen=True):
    """Two cups, each a cone of 90 degrees: axle centre at the origin, axle along y. All in mm."""

    points: float           # over both points of the axle
    face: float             # from the middle to the cheeks' inner faces
    thick: float            # of the cheeks, as drawn
    spread: float           # by which they come out thicker
    narrows: float          # by which what is between them comes out narrower
    lip: float              # by which the cups are deeper than the grooves where these end
    arm: float              # from the axle up to the plate
    breadth: float          # of a cheek's end along x: from there upwards it broadens at 45 degrees, so that it prints
    length: float           # of the plate along x
    plate: float            # its thickness
    held: float             # half the width over which the frame holds it, by the spine at least
    material: str
    bearing: float = 0.0    # as for a clip: there is none
    shim: float = 0.0
    proud: float = 0.0
    rub: float = 0.0        # no wheel touches what carries it

    @property
    def cup(self) -> float:
        """Depth of a cup [mm]."""
        return self.lip + GROOVE

    @property
    def slope(self) -> float:
        """Of the groove's floor [1], from its mouth up to the lip."""
        return (self.lip + DEEPER) / (self.depth - self.lip)

    @property
    def shoulder(self) -> float:
        """Height over the axle [mm] at which a cheek is as long as the plate."""
        return (self.length - self.breadth) / 2 - self.depth

    def broad(self, high: float) -> float:
        """Return a cheek's breadth [mm] `high` over the axle."""
        return min(self.breadth + 2 * (high + self.depth), self.length)

    def back(self, high: float) -> float:
        """Return how far it stands back [mm] at the sides: nowhere."""
        return 0.0

    @property
    def width(self) -> float:
        """Over both cheeks [mm]."""
        return 2 * (self.face + self.thick)

    @property
    def depth(self) -> float:
        """Axle centre down to the cheeks' ends [mm]."""
        return RAMP

    @property
    def end_play(self) -> float:
        """How far [mm] the wheelset shifts along its axle."""
        return 2 * (self.face + self.cup) - self.points - self.narrows

    @property
    def shift(self) -> float:
        """How far [mm] it shifts at most: no further."""
        return self.end_play

    @property
    def travel(self) -> float:
        """How far [mm] each cheek is pushed aside while the second point passes its lip: the first is in its cup."""
        return (self.lip - self.end_play) / 2

    @property
    def printed(self) -> float:
        """Thickness [mm] of the cheeks as they come out: what bends."""
        return printed(self.thick, self.spread)

    @property
    def strain(self) -> float:
        """Strain [1] of a cheek's root then."""
        return arm_strain(self.printed, self.arm, self.travel, ROOT)

    @property
    def stiffest(self) -> float:
        """Of one cheek at its cup [N/mm], as broad all along as it is half way up, where frame or hand hold the plate
        over it."""
        return arm_force(self._modulus, self.broad(self.arm / 2), self.printed, self.arm, 1.0, ROOT)

    @property
    def stiffness(self) -> float:
        """Of one cheek at its cup [N/mm] where nothing but the frame's spine holds the plate, which bends beside it."""
        span = max(self.face + self.thick / 2 - self.held, 0.0)
        return 1 / (1 / self.stiffest + hung_give(self._modulus, self.length, self.plate, span,
                                                  self.arm + self.plate / 2, ROOT))

    @property
    def _modulus(self) -> float:
        return PLASTICS[self.material].plate

    @property
    def insertion(self) -> float:
        """Push [N] that the second point goes in with at most: up the slope of its groove, between stiff cheeks."""
        return self.stiffest * self.travel * _uphill(self.slope, FRICTION[1])

    @property
    def retention(self) -> float:
        """Pull [N] that one point comes out of its cup with at least."""
        return self.stiffness * self.travel * _uphill(1.0, -FRICTION[0])


def _uphill(slope: float, friction: float) -> float:
    """Return the push along a slope over the force that presses on it: (mu + tan a)/(1 - mu tan a)."""
    return (friction + slope) / (1 - friction * slope)


def cups_plan(wheelset: Wheelset, printer: Printer, under: float, length: float, plate: float, held: float) -> PinCups:
    """Resolve the cups under a plate of that `length` along x, `plate` thick, whose underside is `under` over the axle;
    the frame holds it `held` either way of its middle [mm]."""
    points = wheelset.over_points or 0.0
    cups = PinCups(points, 0.0, 0.0, printer.peg_offset, printer.bore_offset, PLAY + LOWEST, under, 0.0, length, plate,
                   held, printer.material)
    for _ in range(PASSES):
        breadth = min(2 * (cups.cup + DEEPER + max(BESIDE, printer.thinnest_wall)), length)
        cups = replace(cups, face=(points + PLAY + cups.narrows) / 2 - cups.cup, breadth=breadth,
                       thick=cups.cup + DEEPER + printer.thinnest_wall)
        # As far from letting go, as a ratio, as from what a thumb gives.
        travel = cups.travel * sqrt(THUMB * least_hold(wheelset) / (cups.insertion * cups.retention))
        cups = replace(cups, lip=min(max(2 * travel + PLAY, PLAY + LOWEST), DEEPEST - GROOVE))
    return replace(cups, face=(points + PLAY + cups.narrows) / 2 - cups.cup,
                   thick=cups.cup + DEEPER + printer.thinnest_wall)
