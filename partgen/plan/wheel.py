"""A wheel that is printed where none can be bought, pressed on a metal rod, and the jig that sets how far apart two of
them stand: by the same figures of a wheelset that the checks use."""

from collections.abc import Iterator
from math import pi, radians, sqrt, tan

from partgen.describe.printer_tables import Printer
from partgen.describe.wagon_tables import Wheelset
from partgen.formulas.press import hub_pressure, slip_force
from partgen.plan.fits import FITS, FOOT, hole, outside
from partgen.plan.hardware import FRICTION, PLASTICS, POISSON, STEEL
from partgen.plan.item import Core, PartPlan
from partgen.plan.printed import printed_mass

TAPER = radians(2)      # of the tread: a contour asks none, a mould 1 to 3 degrees (NMRA RP-25), a drawing 3 (NEM 311G)
HUB = 2.2               # of the rod's diameter: a boss round a screw has 2 to 2.5
RIM = 1.6               # of plastic under tread or groove, or two lines
DISH = 0.3              # of the wheel's width that its face is hollowed
LEAST_DISH = 1.5        # between hub and rim, or three lines, of which one is its floor: less is not worth it
LEAN = 0.4              # of the hollow's depth that its walls lean, together two thirds of its width at most
POINT = 60              # degrees: a usual axle's point, sharper than its cup (common practice, no source)
STANDS_OUT = 1.0        # mm of a bought axle outside each wheel (from memory)
INSET = 0.2             # a rod's ends behind the hubs' faces, so that what presses meets the hubs
LAND = 0.4              # of tread on either side of a groove
PROUD = 0.2             # of a rubber ring over the tread: more than a printer is off
STRETCH = 1.05          # of a rubber ring (common practice, no source: 2 to 6 %)
RUBBER = 1.2e-3         # g/mm3 (from memory)
RACES = 0.67            # of a ball bearing's ring is steel: 5 x 16 x 5 mm weighs 5 g, 8 x 22 x 7 mm 12 g (from memory)
RELAXED = 0.5           # of a press fit's grip is left after a year (from memory, plastics design guides)
BACK, RING_GAP = 0.3, 0.6   # depth and width of what keeps a wheel's back off a bearing's outer ring
BOSS = 2.6              # lines that a wheel leans on a bearing's inner ring with, on both sides of the bore
JIG_GAP = 0.4           # between what lies between the wheels and the jig's slot
LIFT = 1.0              # of the wheels over the table while they are pressed
SPAN, TALL = 0.8, 0.35  # of the flange's diameter: how long the jig is, and how high over the axle
LEAF = 3.0              # of its faces, or six lines
POCKET = 3.0            # beside its rib: less is not worth it


class WheelPlan(PartPlan, frozen=True):
    """A wheel in its own frame: axle along y, the flange's back at y = 0, the hub's face at `width`; all in mm."""

    SOLID = "wheels"        # they keep their grip on the rod

    rod: float              # diameter of what it is pressed on
    bore: float             # as drawn
    tread: float            # diameter beside the flange, as drawn
    flange: float           # diameter over it, as drawn
    thick: float            # of the flange at the tread
    run: float              # by which it is thinner at its tip
    width: float
    wall: float             # of rim and hub at least
    groove: float           # depth for a rubber ring, 0 without
    cord: float             # thickness of that as it lies there
    material: str
    boss: float = 0.0       # diameter at the back that leans on a bearing's inner ring, 0 without
    clear: float = 0.0      # diameter round it that keeps off the outer ring

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (self.flange, self.width, self.flange)

    @property
    def centroid_z(self) -> float:
        """Height of the centre of gravity over the axle [mm]."""
        return 0.0

    @property
    def tip(self) -> float:
        """Thickness [mm] of the flange at its tip."""
        return self.thick - self.run

    @property
    def depth(self) -> float:
        """Of the flange [mm]."""
        return (self.flange - self.tread) / 2

    @property
    def hub(self) -> float:
        """Its diameter [mm]."""
        return max(HUB * self.rod, self.bore + 2 * self.wall)

    @property
    def rim(self) -> float:
        """Diameter [mm] inside the rim, the hub's where the face is not hollowed."""
        inside = 2 * (self.radius(self.width) - self.groove - max(RIM, self.wall))
        return inside if inside - self.hub > 2 * max(LEAST_DISH, 1.5 * self.wall) else self.hub

    @property
    def dish(self) -> float:
        """How deep [mm] the face is hollowed between hub and rim."""
        deep = min(DISH * self.width, self.width - self.wall)
        return deep if self.rim > self.hub else 0.0

    @property
    def ring_end(self) -> float:
        """From the back to where the groove ends [mm]: past its floor it rises at 45 degrees, so that it prints."""
        return (self._floor + self.groove + self.thick * tan(TAPER)) / (1 + tan(TAPER))

    @property
    def _floor(self) -> float:
        """From the back to the end of the groove's floor [mm], so long that a round cord touches it and both sides."""
        return self.thick + LAND + self.cord / sqrt(2)

    @property
    def seat(self) -> float:
        """Diameter [mm] of the groove's floor."""
        return self.tread - 2 * self.groove

    @property
    def ring(self) -> float:
        """Inner diameter [mm] of the rubber ring to buy: stretched it lies on its groove's floor."""
        return self.seat / STRETCH

    @property
    def ring_at(self) -> float:
        """From the back to the middle of its cord [mm]."""
        return self.thick + LAND + self.cord / 2

    def radius(self, y: float) -> float:
        """Return the tread's radius [mm] at `y` from the back."""
        return self.tread / 2 - (y - self.thick) * tan(TAPER)

    @property
    def section(self) -> tuple[tuple[float, ...], ...]:
        """Corners (radius, y) or (radius, y, rounding) [mm] of one half of the wheel cut along its axle."""
        bore, tip, foot = self.bore / 2, self.flange / 2, min(FOOT, self.tip / 3)
        lean, end = min(LEAN * self.dish, (self.rim - self.hub) / 6), self.radius(self.width)
        groove = ((self.radius(self.thick + LAND), self.thick + LAND), (self.seat / 2, self.thick + LAND),
                  (self.seat / 2, self._floor), (self.radius(self.ring_end), self.ring_end)) if self.groove else ()
        hollow = ((self.rim / 2, self.width), (self.rim / 2 - lean, self.width - self.dish),
                  (self.hub / 2 + lean, self.width - self.dish), (self.hub / 2, self.width)) if self.dish else ()
        back = ((self.boss / 2, 0.0), (self.boss / 2, BACK), (self.clear / 2, BACK),
                (self.clear / 2, 0.0)) if self.boss else ()
        mouth = min(FOOT, (self.boss / 2 - bore) / 3) if self.boss else FOOT
        return ((bore + mouth, 0.0), *back, (tip - foot, 0.0), (tip, foot),
                (tip, self.tip, min(0.5 * self.depth, 0.6 * self.tip)), (self.tread / 2, self.thick), *groove,
                (end, self.width, FOOT), *hollow, (bore + FOOT / 2, self.width), (bore, self.width - FOOT / 2),
                (bore, mouth))

    @property
    def volume(self) -> float:
        """Volume [mm3] of what the section's corners sweep."""
        corners = [(r, y) for r, y, *_ in self.section]
        return abs(sum((r * z - q * y) * (r + q) for (r, y), (q, z) in zip(corners, corners[1:] + corners[:1],
                                                                          strict=True))) * pi / 3

    def cores(self, wall: float) -> Iterator[Core]:
        """Yield the disc between bore and tread."""
        inner, outer = self.bore / 2 + wall, self.seat / 2 - wall
        yield pi * (outer**2 - inner**2) if outer > inner else 0.0, self.width - self.dish

    @property
    def interference(self) -> float:
        """By how much [mm] the bore is printed narrower than the rod."""
        return -FITS["wheel"].clearance

    @property
    def strain(self) -> float:
        """Of the bore's rim [1], stretched round the rod."""
        return self.interference / self.rod

    @property
    def push(self) -> float:
        """Force [N] that presses it on the rod, at the most friction."""
        return self._slip(self.tread, FRICTION[1])

    @property
    def hold(self) -> float:
        """Force [N] that moves it along the rod, at the least friction and after the plastic has given way."""
        return RELAXED * self._slip(self.hub, FRICTION[0])

    @property
    def grip(self) -> float:
        """Length of its bore between the bevels [mm]."""
        return self.width - 1.5 * FOOT

    def _slip(self, outer: float, friction: float) -> float:
        pressure = hub_pressure(self.interference, self.rod, outer, PLASTICS[self.material].modulus, POISSON)
        return slip_force(pressure, self.rod, self.grip, friction)


def printed_wheel(wheelset: Wheelset, printer: Printer) -> WheelPlan | None:
    """Resolve the wheel of a wheelset, where it is printed."""
    if not wheelset.printed:
        return None
    cord = (wheelset.ring or 0.0) / sqrt(STRETCH)
    bore = hole(wheelset.axle_diameter, "wheel", printer)
    leans = max(wheelset.inner_ring, bore + BOSS * printer.line_width)
    boss = leans if wheelset.ends == "bearing" else 0.0
    return WheelPlan(
        rod=wheelset.axle_diameter, bore=bore,
        tread=outside(wheelset.tread_diameter, printer), flange=outside(wheelset.flange_diameter, printer),
        thick=wheelset.flange_thickness, run=wheelset.flange_depth / tan(radians(wheelset.binding_angle)),
        width=wheelset.width, wall=printer.thinnest_wall, groove=max(cord - PROUD, 0.0), cord=cord,
        material=printer.material, boss=boss, clear=wheelset.bearing_outer + 2 * RING_GAP if boss else 0.0)


# What is bought for it

def axle_length(wheelset: Wheelset) -> float:
    """Return how long [mm] a wheelset's axle is: as bought, or the rod that printed wheels are pressed on."""
    if wheelset.printed:
        return rod_length(wheelset)
    return wheelset.over_points or wheelset.back_to_back + 2 * (wheelset.width + STANDS_OUT)


def rod_length(wheelset: Wheelset) -> float:
    """Return how long [mm] to cut a rod for two printed wheels."""
    if wheelset.ends == "pin" and wheelset.over_points:
        return wheelset.over_points
    return wheelset.back_to_back + 2 * (wheelset.width - INSET)


def point_length(wheelset: Wheelset) -> float:
    """Return how long [mm] the point at either end of an axle is."""
    return wheelset.axle_diameter / 2 / tan(radians(POINT / 2))


def bought_mass(wheelset: Wheelset) -> float:
    """Return the mass [g] of what is not printed of a wheelset: all of it, or a rod with its rubber rings; without
    bearings or tube."""
    if not wheelset.printed:
        return wheelset.mass
    cord = wheelset.ring or 0.0
    rings = 2 * pi * (wheelset.tread_diameter - cord) * pi / 4 * cord**2
    return STEEL * pi / 4 * wheelset.axle_diameter**2 * rod_length(wheelset) + RUBBER * rings


def bearing_mass(wheelset: Wheelset) -> float:
    """Return the mass [g] of one ball bearing."""
    area = pi / 4 * (wheelset.bearing_outer**2 - wheelset.axle_diameter**2)
    return STEEL * RACES * area * wheelset.bearing_width


def weighed(wheelset: Wheelset, printer: Printer) -> Wheelset:
    """Return the wheelset with its mass, which a printed one has by its plan."""
    if not (wheel := printed_wheel(wheelset, printer)):
        return wheelset
    ends = 2 * bearing_mass(wheelset) if wheelset.ends == "bearing" else 0.0
    return wheelset.model_copy(update={"mass": bought_mass(wheelset) + 2 * printed_mass(wheel, printer) + ends})


# The jig

class JigPlan(PartPlan, frozen=True):
    """The jig in its own frame, standing on z = 0: wheels are pressed against its faces at plus and minus half of
    `apart` along y, their rod in a slot that is open above; all in mm."""

    apart: float
    length: float           # of the faces
    height: float
    slot: float             # its width
    floor: float            # its height
    leaf: float             # thickness of either face
    rib: float              # width of what joins them, the whole length where that is no longer

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (self.length, self.apart, self.height)

    @property
    def volume(self) -> float:
        """Volume [mm3]."""
        area = 2 * self.leaf * self.length + (self.apart - 2 * self.leaf) * self.rib
        return area * self.height - self.slot * (self.height - self.floor) * self.apart


def jig_plan(wheelset: Wheelset, printer: Printer) -> JigPlan:
    """Resolve the jig for a printed wheelset; what turns in the holder lies in its slot too."""
    between, flange, leaf = wheelset.bearing_diameter, wheelset.flange_diameter, max(LEAF, 3 * printer.thinnest_wall)
    slot, axle = between + JIG_GAP, flange / 2 + LIFT
    rib = slot + 2 * leaf
    length, apart = max(SPAN * flange, rib), outside(wheelset.back_to_back, printer)
    full = min(length - rib, apart - 2 * leaf) < 2 * POCKET
    return JigPlan(apart, length, height=axle + TALL * flange, slot=slot, floor=axle - between / 2, leaf=leaf,
                   rib=length if full else rib)
