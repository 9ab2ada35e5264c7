"""The shell of a body: its floor and walls, and the fields of planks or panels in their outside."""

from collections.abc import Iterable, Iterator
from math import acos, pi, sqrt

from partgen.describe.printer_tables import Printer
from partgen.plan.body.layout import FENCE, Layout, rib_thickness
from partgen.plan.context import Context
from partgen.plan.fastening import floor, laid_in, over_modules
from partgen.plan.fits import hole
from partgen.plan.item import PartPlan
from partgen.plan.outline import Patch
from partgen.plan.running_gear.frame import FramePlan

CORNER = 4.0
LEAST_CORNER = 0.8      # inside: a sharper one is not printed anyway
LOW_SIDE = 16.0         # wall height of a body without modules: it only holds the cradle
FENCE_HEIGHT = 4.0
CABLE_GAP = 14.0        # in the middle of a fence, at most a third of the inside

HEAD_EDGE = 0.6         # a fence to a screw's head
HEAD_ROOM = 0.3         # round a screw's head on its way down past the wall

SOLE, HEAD = 3.0, 2.4   # smooth bands below and above the planks or panels
POST = 3.0              # between two fields of planks or panels, flush with the bands
FIELD = 29.0            # length of a field, about
PLANK = 4.6             # height of a plank in a low body, about; more in a high one
DEEPEST = 1.0           # of fields and grooves together
SHALLOWEST = 0.3        # less than a layer and a half does not show
SET_BACK = 0.5          # share of the depth that a field of planks stands back behind its posts
PANEL_BORDER = 1.8      # flat strip round a panel's raised middle


class BodyShell(PartPlan, frozen=True):
    """The floor and walls of a body in wagon axes; `bottom` and `top` are heights over rail top; all in mm.

    Sides that are not plain have sunken fields between flush posts and bands. `groove` is the depth of a
    field at its deepest, so wall less groove is what stands; `recess` is how far its planks or the strip
    round its panel stand back behind the posts.
    """

    length: float
    width: float
    bottom: float
    top: float
    floor: float
    wall: float
    corner: float
    sides: str
    groove: float                               # 0 for plain sides and for walls too thin to cut into
    fences: tuple[float, ...]                   # x of the low ribs between modules
    screws: tuple[tuple[float, float], ...]
    screw_hole: float
    cone: float                                 # where a cradle on the floor takes the heads, no wider than the hole
    cone_height: float
    rib: float                                  # thickness of fences, lips and what stands round an eye
    over: float                                 # of its height that a lid takes over the modules

    @property
    def inside(self) -> tuple[float, float, float]:
        """Free inside [mm] along x, y and from the floor to the rim."""
        return (self.length - 2 * self.wall, self.width - 2 * self.wall, self.top - self.bottom - self.floor)

    @property
    def inner_corner(self) -> float:
        """Radius [mm] of the inside's upright corners."""
        return max(self.corner - self.wall, LEAST_CORNER)

    @property
    def recess(self) -> float:
        """How far [mm] a field's face stands back behind the posts."""
        return self.groove * (SET_BACK if self.sides == "planked" else 1.0)

    @property
    def field_z(self) -> tuple[float, float]:
        """Lower and upper edge [mm over rail top] of every field."""
        return (self.bottom + SOLE, self.top - HEAD)

    @property
    def planks(self) -> tuple[float, ...]:
        """Heights over rail top [mm] of the grooves between the planks, evenly spaced in a field."""
        low, high = self.field_z
        count = max(2, round((high - low) / (PLANK + 0.02 * (high - low))))
        return tuple(low + k * (high - low) / count for k in range(1, count))

    @property
    def cable_gap(self) -> float:
        """Gap [mm] in the middle of every fence."""
        return min(CABLE_GAP, self.inside[1] / 3)

    @property
    def fence_height(self) -> float:
        """Height [mm] of every fence over the floor: as much stands over its eyes as beside them."""
        return FENCE_HEIGHT - FENCE + self.rib

    @property
    def ribs(self) -> tuple[Patch, ...]:
        """Every fence in its two halves, clear of the screws' heads; what is left too short is none."""
        return tuple(rib for x in self.fences for rib in self._halves(x))

    def _halves(self, x: float) -> Iterator[Patch]:
        near = [abs(sy) - self.cone / 2 - HEAD_EDGE for sx, sy in self.screws
                if abs(sx - x) < (self.cone + self.rib) / 2 + HEAD_EDGE]
        start, end = self.cable_gap / 2, min([self.inside[1] / 2, *near])
        if end - start >= 2 * self.rib:
            yield from (Patch(x, sense * (start + end) / 2, self.rib, end - start) for sense in (1, -1))

    @property
    def flute(self) -> float:
        """How deep [mm] a thick wall is fluted for a screw's head on its way down; 0 where it passes."""
        clear = screw_room(self.length, self.width, self.screws, self.cone) - self.wall
        return HEAD_ROOM - clear if clear < HEAD_ROOM / 3 else 0.0

    def fields(self, along: float) -> tuple[tuple[float, float], ...]:
        """Return (start, end) [mm] of the fields on a wall `along` [mm] long, measured from its middle.

        Posts stand between them, and wider ones on the wall's ends that take in the rounded corner.
        """
        span = along - 2 * (self.corner + POST / 3)
        if not self.groove or span < 2 * POST:
            return ()
        count = max(1, round((span + POST) / (FIELD + POST)))
        pitch = (span + POST) / count
        return tuple((k * pitch - span / 2, (k + 1) * pitch - POST - span / 2) for k in range(count))

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (self.length, self.width, self.top - self.bottom)

    @property
    def fields_volume(self) -> float:
        """Volume [mm3] that all fields take out of the walls, their 45 degree edges included."""
        high = self.field_z[1] - self.field_z[0]
        lengths = [end - start for along in (self.length, self.width) for start, end in self.fields(along)]
        return 2 * sum(self._field_volume(length, high) for length in lengths)

    @property
    def mean_recess(self) -> float:
        """How far [mm] the fields of the side walls stand back on average; 0 where there are none."""
        high = self.field_z[1] - self.field_z[0]
        return next((self._field_volume(end - start, high) / (end - start) / high for start, end
                     in self.fields(self.length)), 0.0)

    def _field_volume(self, length: float, high: float) -> float:
        face = (length - self.recess) * (high - self.recess) * self.recess
        if self.sides == "planked":
            return face + len(self.planks) * length * (self.groove - self.recess)**2
        border = 2 * PANEL_BORDER + 3 * self.recess
        raised = max(length - border, 0.0) * max(high - border, 0.0)
        return face - raised * self.panel_rise

    @property
    def panel_rise(self) -> float:
        """How far [mm] a panel's middle stands out from the strip round it."""
        return 0.6 * self.recess


def resolve(context: Context, frame: FramePlan, layout: Layout, outside: tuple[float, float]) -> BodyShell:
    """Resolve the shell on a frame, `outside` [mm] long and wide, round the modules of `layout`."""
    wagon, screw, (length, width) = context.wagon, context.screw, outside
    thick, least = floor(context.printer), layout.height + over_modules(context) if layout.ends else LOW_SIDE
    inside = least if wagon.height is None else wagon.height - thick
    passing = hole(screw.clearance, "screw", context.printer)
    cone = passing if laid_in(context) else hole(screw.cone, "screw", context.printer)
    room = screw_room(length, width, frame.screws, cone)
    return BodyShell(
        length=length, width=width, bottom=frame.top, top=frame.top + thick + inside, floor=thick, wall=wagon.wall,
        corner=CORNER, sides=wagon.sides, groove=groove_depth(wagon.sides, wagon.wall, room, context.printer),
        fences=layout.fences, screws=frame.screws,
        screw_hole=passing, cone=cone, cone_height=(cone - passing) / 2, rib=rib_thickness(context.printer),
        over=over_modules(context))


def rounded_area(length: float, width: float, radius: float) -> float:
    """Return the area [mm2] of a rectangle with rounded corners."""
    return length * width - (4 - pi) * radius**2


def segment(radius: float, height: float) -> float:
    """Return the area [mm2] of a circle's segment `height` [mm] high, at most half the circle."""
    chord = radius - height
    return radius**2 * acos(chord / radius) - chord * sqrt(radius**2 - chord**2)


def screw_room(length: float, width: float, screws: Iterable[tuple[float, float]], cone: float) -> float:
    """Return the least distance [mm] from the outside to the head of a screw."""
    return min((min(length / 2 - abs(x), width / 2 - abs(y)) for x, y in screws), default=length) - cone / 2


def groove_depth(sides: str, wall: float, room: float, printer: Printer) -> float:
    """Return how deep [mm] planks or panels may cut into `wall` so that two printed lines stay.

    `room` [mm] is what stands between the outside and a screw's head, where the wall is fluted for it.
    """
    depth = min(DEEPEST, min(wall, room - HEAD_ROOM) - printer.thinnest_wall)
    return depth if sides != "plain" and depth >= SHALLOWEST else 0.0
