"""The body (floor and walls) and the lid over it."""

from dataclasses import dataclass

from partgen.formulas.fit import peg
from partgen.describe.printer import Printer
from partgen.plan.hardware import Screw

FLOOR = 2.4
CORNER = 4.0
LOW_SIDE = 16.0         # wall height of a body without modules: it only holds the cradle
EAVES = 1.2
LID_PLATE = 2.4
LID_RIM = 4.0
LID_RIM_WALL = 1.6
FENCE_HEIGHT = 4.0


@dataclass(frozen=True, slots=True)
class BodyPlan:
    """A body in wagon axes; `bottom` and `top` are heights over rail top; all in mm."""

    length: float
    width: float
    bottom: float
    top: float
    floor: float
    wall: float
    corner: float
    sides: str
    groove: float                               # depth of the planking or panels; 0 for plain sides
    fences: tuple[float, ...]                   # x of the low ribs between modules
    fence: float                                # their thickness
    fence_height: float
    screws: tuple[tuple[float, float], ...]
    screw_hole: float
    cone: float
    cone_height: float

    @property
    def inside(self) -> tuple[float, float, float]:
        """Free inside [mm] along x, y and from the floor to the rim."""
        return (self.length - 2 * self.wall, self.width - 2 * self.wall, self.top - self.bottom - self.floor)

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (self.length, self.width, self.top - self.bottom)

    @property
    def volume(self) -> float:
        """Volume [mm3], estimated from floor, walls and fences."""
        within = self.inside
        outer = self.length * self.width - 0.86 * self.corner**2
        inner = within[0] * within[1] - 0.86 * max(self.corner - self.wall, 0.4)**2
        walls = (outer - inner) * within[2] - 0.5 * self.groove * 2 * (self.length + self.width) * 0.2 * within[2]
        fences = len(self.fences) * self.fence * self.fence_height * within[1]
        return outer * self.floor + walls + fences

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

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (self.length, self.width, self.top - self.bottom + self.rim)

    @property
    def volume(self) -> float:
        """Volume [mm3]."""
        plate = (self.length * self.width - 0.86 * self.corner**2) * (self.top - self.bottom)
        inner = (self.rim_length - 2 * self.rim_wall) * (self.rim_width - 2 * self.rim_wall)
        bosses = len(self.screws) * 0.785 * (self.boss**2 - self.core**2) * self.rim
        return plate + (self.rim_length * self.rim_width - inner) * self.rim + bosses

    @property
    def centroid_z(self) -> float:
        """Height of the centre of gravity over rail top [mm]."""
        return self.bottom + 0.35 * (self.top - self.bottom)


def body_plan(length, width, bottom, inside_height, wall, sides, fences, fence, screws, screw: Screw,
              printer: Printer) -> BodyPlan:
    """Resolve a body whose inside is `inside_height` [mm] from floor to rim."""
    return BodyPlan(
        length=length, width=width, bottom=bottom, top=bottom + FLOOR + inside_height, floor=FLOOR, wall=wall,
        corner=CORNER, sides=sides, groove=0.0 if sides == "plain" else min(0.6, wall - printer.thinnest_wall),
        fences=fences, fence=fence, fence_height=FENCE_HEIGHT, screws=screws,
        screw_hole=screw.clearance + printer.bore_offset, cone=screw.cone + printer.bore_offset,
        cone_height=screw.cone_height)


def lid_plan(body: BodyPlan, cradle_screws: bool, screw: Screw, printer: Printer) -> LidPlan:
    """Resolve the lid of `body`; with `cradle_screws` it has four blind cores that carry a cradle."""
    inside_x, inside_y, _ = body.inside
    rim_x, rim_y = (peg(inside, "sliding", printer.peg_offset) for inside in (inside_x, inside_y))
    core = screw.core + printer.bore_offset
    boss = core + 2 * 1.8
    # The boss shares the rim's wall by a third, so that it stands on it and clears the body's corner.
    xs, ys = rim_x / 2 - boss / 2 - 0.2, rim_y / 2 - boss / 2 - 0.2
    corners = tuple((sx * xs, sy * ys) for sx in (1, -1) for sy in (1, -1))
    return LidPlan(
        length=body.length + 2 * EAVES, width=body.width + 2 * EAVES, bottom=body.top, top=body.top + LID_PLATE,
        corner=body.corner + EAVES, rim_length=rim_x, rim_width=rim_y, rim=LID_RIM, rim_wall=LID_RIM_WALL,
        rim_corner=max(body.corner - body.wall, 0.8), screws=corners if cradle_screws else (), core=core, boss=boss)
