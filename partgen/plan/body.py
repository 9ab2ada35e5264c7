"""The body (floor and walls) and the lid over it."""

from dataclasses import dataclass
from math import acos, pi, sqrt

from partgen.describe.printer import Printer
from partgen.plan.fits import hole, peg
from partgen.plan.hardware import Screw
from partgen.plan.fittings import Fittings
from partgen.plan.latch import Latching
from partgen.plan.latch import resolve as latching_of
from partgen.plan.sensor import Window

FLOOR = 2.4
CORNER = 4.0
LEAST_CORNER = 0.8      # inside: a sharper one is not printed anyway
LOW_SIDE = 16.0         # wall height of a body without modules: it only holds the cradle
EAVES = 1.6
LID_PLATE = 2.4
LID_RIM = 5.0
LID_RIM_WALL = 1.6
LID_BLIND = 1.2         # what closes a cradle screw's core against the inside
LID_BOSS_WALL = 1.8     # round that core
DRIP_INSET, DRIP_WIDTH, DRIP = 0.9, 0.5, 0.4     # groove under the eaves: two lines in from the edge
DRIP_ROOM = 0.2         # groove to the body's wall
FENCE_HEIGHT = 4.0
CABLE_GAP = 14.0        # in the middle of a fence, at most a third of the inside

HEAD_ROOM = 0.3         # round a screw's head on its way down past the wall

SOLE, HEAD = 3.0, 2.4   # smooth bands below and above the planks or panels
POST = 3.0              # between two fields of planks or panels, flush with the bands
FIELD = 29.0            # length of a field, about
PLANK = 4.6             # height of a plank in a low body, about; more in a high one
DEEPEST = 1.0           # of fields and grooves together
SHALLOWEST = 0.3        # less than a layer and a half does not show
SET_BACK = 0.5          # share of the depth that a field of planks stands back behind its posts
PANEL_BORDER = 1.8      # flat strip round a panel's raised middle


@dataclass(frozen=True, slots=True)
class BodyPlan:
    """A body in wagon axes; `bottom` and `top` are heights over rail top; all in mm.

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
    fence: float                                # their thickness
    fence_height: float
    screws: tuple[tuple[float, float], ...]
    screw_hole: float
    cone: float
    cone_height: float
    latching: Latching | None = None            # of the lid, whose clips snap under beads on the walls
    fittings: Fittings = Fittings()             # what its modules need
    windows: tuple[Window, ...] = ()            # in the floor, for track sensors

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
    def flute(self) -> float:
        """How deep [mm] a thick wall is fluted for a screw's head on its way down; 0 where it passes."""
        clear = screw_room(self.length, self.width, self.screws, self.cone) - self.wall
        return HEAD_ROOM - clear if clear < HEAD_ROOM / 3 else 0.0

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (self.length, self.width, self.top - self.bottom)

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
    def volume(self) -> float:
        """Volume [mm3]: floor, walls and fences less fields and screw holes."""
        x, y, z = self.inside
        outer = _rounded(self.length, self.width, self.corner)
        walls = (outer - _rounded(x, y, self.inner_corner)) * z
        fences = len(self.fences) * self.fence * self.fence_height * (y - self.cable_gap)
        hole = self.screw_hole**2 * self.floor + self.cone**2 * self.cone_height / 3
        holes = len(self.screws) * pi / 4 * hole
        flutes = len(self.screws) * _segment(self.cone / 2 + HEAD_ROOM, self.flute) * z
        beads = self.latching.bead_volume if self.latching else 0.0
        fitted = beads + self.fittings.volume(self.wall - self.recess / 2)
        outer_floor = outer - sum(window.length * window.width for window in self.windows)
        return outer_floor * self.floor + walls + fences + fitted - holes - flutes - self._fields_volume

    @property
    def _fields_volume(self) -> float:
        """Volume [mm3] that all fields take out of the walls, their 45 degree edges included."""
        high = self.field_z[1] - self.field_z[0]
        lengths = [end - start for along in (self.length, self.width) for start, end in self.fields(along)]
        return 2 * sum(self._field_volume(length, high) for length in lengths)

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

    @property
    def centroid_z(self) -> float:
        """Height of the centre of gravity over rail top [mm]."""
        within = self.inside
        floor = self.length * self.width * self.floor
        walls = max(self.volume - floor, 1e-9)
        return self.bottom + (floor * self.floor / 2 + walls * (self.floor + within[2] / 2)) / (floor + walls)


@dataclass(frozen=True, slots=True)
class LidPlan:
    """A lid in wagon axes: plate from `bottom` up to `top` over rail top, rim down inside the walls; mm."""

    length: float
    width: float
    bottom: float
    top: float
    corner: float
    rim_length: float
    rim_width: float
    rim: float              # how far the rim reaches down
    rim_wall: float
    rim_corner: float
    screws: tuple[tuple[float, float], ...]     # blind cores for the cradle's screws
    core: float
    boss: float
    latching: Latching
    bevel: float = 0.6      # round the deck's edge
    drip: float = DRIP      # depth of the groove under the eaves
    drip_inset: float = DRIP_INSET
    drip_width: float = DRIP_WIDTH
    blind: float = LID_BLIND        # below each core

    @property
    def rim_inner_corner(self) -> float:
        """Radius [mm] of the upright corners on the rim's inside."""
        return max(self.rim_corner - self.rim_wall, LEAST_CORNER)

    @property
    def boss_reach(self) -> float:
        """How far [mm] the bosses reach down below the plate: a little less than the rim."""
        return self.rim - 0.4

    @property
    def core_depth(self) -> float:
        """Depth [mm] of the blind cores from the deck."""
        return self.top - self.bottom + self.boss_reach - self.blind

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (self.length, self.width, self.top - self.bottom + self.rim)

    @property
    def volume(self) -> float:
        """Volume [mm3]: plate less bevel and groove, rim, bosses less what the rim shares, no cores."""
        plate = _rounded(self.length, self.width, self.corner) * (self.top - self.bottom)
        round_it = self.length + self.width - 2 * self.corner
        edge = (self.bevel**2 + 2 * self.drip * self.drip_width) * round_it
        inner = _rounded(self.rim_length - 2 * self.rim_wall, self.rim_width - 2 * self.rim_wall,
                         self.rim_inner_corner)
        rim = (_rounded(self.rim_length, self.rim_width, self.rim_corner) - inner) * self.rim
        boss = 0.6 * self.boss**2 * self.boss_reach - self.core**2 * self.core_depth
        openings = 2 * len(self.latching.sockets) * self.rim_wall * self.rim * (
            self.latching.window + self.latching.hole / 2)
        return plate - edge + rim - openings + self.latching.volume + len(self.screws) * pi / 4 * boss

    @property
    def centroid_z(self) -> float:
        """Height of the centre of gravity over rail top [mm]."""
        return self.bottom + 0.35 * (self.top - self.bottom)


def _rounded(length: float, width: float, radius: float) -> float:
    """Return the area [mm2] of a rectangle with rounded corners."""
    return length * width - (4 - pi) * radius**2


def _segment(radius: float, height: float) -> float:
    """Return the area [mm2] of a circle's segment `height` [mm] high, at most half the circle."""
    chord = radius - height
    return radius**2 * acos(chord / radius) - chord * sqrt(radius**2 - chord**2)


def screw_room(length: float, width: float, screws, cone: float) -> float:
    """Return the least distance [mm] from the outside to the head of a screw."""
    return min((min(length / 2 - abs(x), width / 2 - abs(y)) for x, y in screws), default=length) - cone / 2


def groove_depth(sides: str, wall: float, room: float, printer: Printer) -> float:
    """Return how deep [mm] planks or panels may cut into `wall` so that two printed lines stay.

    `room` [mm] is what stands between the outside and a screw's head, where the wall is fluted for it.
    """
    depth = min(DEEPEST, min(wall, room - HEAD_ROOM) - printer.thinnest_wall)
    return depth if sides != "plain" and depth >= SHALLOWEST else 0.0


def body_plan(length, width, bottom, inside_height, wall, sides, fences, fence, screws, screw: Screw,
              printer: Printer) -> BodyPlan:
    """Resolve a body whose inside is `inside_height` [mm] from floor to rim."""
    cone = hole(screw.cone, "screw", printer)
    room = screw_room(length, width, screws, cone)
    return BodyPlan(
        length=length, width=width, bottom=bottom, top=bottom + FLOOR + inside_height, floor=FLOOR, wall=wall,
        corner=CORNER, sides=sides, groove=groove_depth(sides, wall, room, printer),
        fences=fences, fence=fence, fence_height=FENCE_HEIGHT, screws=screws,
        screw_hole=hole(screw.clearance, "screw", printer), cone=cone, cone_height=screw.cone_height)


def lid_plan(body: BodyPlan, cradle_screws: bool, screw: Screw, printer: Printer) -> LidPlan:
    """Resolve the lid of `body`; with `cradle_screws` it has four blind cores that carry a cradle."""
    inside_x, inside_y, _ = body.inside
    rim_x, rim_y = (peg(inside, "sliding", printer) for inside in (inside_x, inside_y))
    core, two_lines = hole(screw.core, "core", printer), printer.thinnest_wall
    boss = core + 2 * max(LID_BOSS_WALL, two_lines)
    drip_inset, drip_width = max(DRIP_INSET, two_lines), max(DRIP_WIDTH, printer.line_width)
    eaves = max(EAVES, drip_inset + drip_width + DRIP_ROOM)
    # The boss shares the rim's wall by a third, so that it stands on it and clears the body's corner.
    xs, ys = rim_x / 2 - boss / 2 - 0.2, rim_y / 2 - boss / 2 - 0.2
    rim_wall, rim_corner = max(LID_RIM_WALL, two_lines), body.inner_corner
    latching = latching_of((rim_x, rim_y), rim_wall, LID_RIM, (inside_x - rim_x) / 2,
                           boss if cradle_screws else rim_corner, printer)
    corners = tuple((sx * xs, sy * ys) for sx in (1, -1) for sy in (1, -1))
    return LidPlan(
        length=body.length + 2 * eaves, width=body.width + 2 * eaves,
        bottom=body.top, top=body.top + LID_PLATE,
        corner=body.corner + eaves, rim_length=rim_x, rim_width=rim_y, rim=LID_RIM,
        rim_wall=rim_wall, rim_corner=rim_corner, screws=corners if cradle_screws else (), core=core, boss=boss,
        latching=latching,
        bevel=0.6 if cradle_screws else 1.2, drip_inset=drip_inset, drip_width=drip_width,
        blind=max(LID_BLIND, two_lines))
