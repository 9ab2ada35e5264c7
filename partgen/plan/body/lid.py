"""The lid over a body: plate with eaves, rim, clips' sockets, windows, light strips, cores for a cradle's screws."""

from math import pi

from msgspec import Struct
from msgspec.structs import replace

from partgen.describe.printer_tables import Printer
from partgen.plan.body import light_strip as strips
from partgen.plan.body.lid_clip import Latching
from partgen.plan.body.lid_clip import resolve as latching_of
from partgen.plan.body.pane import FRONT, LARGE, Pane, from_wall, panes_of
from partgen.plan.body.shell import LEAST_CORNER, BodyPlan, rounded_area
from partgen.plan.fits import hole, peg
from partgen.plan.hardware import Screw

EAVES = 1.6
LID_PLATE = 2.4
LID_RIM = 5.0
LID_RIM_WALL = 1.6
RIM_FOOT = 0.6          # 45 degree fillet between rim and plate
LID_BLIND = 1.2         # what closes a cradle screw's core against the inside
LID_BOSS_WALL = 1.8     # round that core
DRIP_INSET, DRIP_WIDTH, DRIP = 0.9, 0.5, 0.4     # groove under the eaves: two lines in from the edge
DRIP_ROOM = 0.2         # groove to the body's wall


class LidPlan(Struct, frozen=True):
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
    rim_foot: float = RIM_FOOT
    panes: tuple[Pane, ...] = ()
    front: float = FRONT            # of plate before a pane
    strip: strips.StripPlan | None = None       # of light, under the eaves

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
    def lowest(self) -> float:
        """Height [mm over rail top] down to which the lid reaches outside the body."""
        return self.bottom - (self.strip.reach if self.strip else 0.0)

    @property
    def recess(self) -> float:
        """Depth [mm] of the panes' recesses from the inside; a thin one lets its pane stand out."""
        return self.top - self.bottom - self.front

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (self.length, self.width, self.top - self.bottom + self.rim)

    @property
    def volume(self) -> float:
        """Volume [mm3]: plate less bevel and groove, rim, bosses less what the rim shares, no cores."""
        plate = rounded_area(self.length, self.width, self.corner) * (self.top - self.bottom)
        round_it = self.length + self.width - 2 * self.corner
        edge = (self.bevel**2 + 2 * self.drip * self.drip_width) * round_it
        inner = rounded_area(self.rim_length - 2 * self.rim_wall, self.rim_width - 2 * self.rim_wall,
                         self.rim_inner_corner)
        rim = (rounded_area(self.rim_length, self.rim_width, self.rim_corner) - inner) * self.rim
        boss = 0.6 * self.boss**2 * self.boss_reach - self.core**2 * self.core_depth
        openings = 2 * len(self.latching.sockets) * self.rim_wall * self.rim * (
            self.latching.window + self.latching.hole / 2)
        seen = sum(pane.recess.length * pane.recess.width * self.recess
                   + sum(one.length * one.width for one in pane.openings) * self.front for pane in self.panes)
        lit = self.strip.volume if self.strip else 0.0
        return plate - edge + rim - openings - seen + lit + self.latching.volume + len(self.screws) * pi / 4 * boss

    @property
    def centroid_z(self) -> float:
        """Height of the centre of gravity over rail top [mm]."""
        return self.bottom + 0.35 * (self.top - self.bottom)


def window_room(printer: Printer) -> float:
    """Return how far [mm] from the body's walls what is seen through the lid must stay: past the lid's rim."""
    return from_wall((LARGE - peg(LARGE, "sliding", printer)) / 2 + max(LID_RIM_WALL, printer.thinnest_wall) + RIM_FOOT, printer)


def side_eaves(wagon, printer: Printer) -> float:
    """Return how far [mm] the lid of `wagon` reaches beyond the body's sides."""
    inset, width = _drip(printer)
    if wagon.lights == "strip":
        return strips.eaves(printer, inset + width + 0.1)
    return max(EAVES, inset + width + DRIP_ROOM)


def _drip(printer: Printer) -> tuple[float, float]:
    """Return inset and width [mm] of the drip groove."""
    return max(DRIP_INSET, printer.thinnest_wall), max(DRIP_WIDTH, printer.line_width)


def lid_plan(body: BodyPlan, cradle_screws: bool, layout, wagon, screw: Screw, printer: Printer) -> LidPlan:
    """Resolve the lid of `body`: with `cradle_screws` closed and with four blind cores that carry a cradle, else with
    windows over all modules of `layout` that look up; with a light strip where `wagon` wishes one.
    """
    inside_x, inside_y, _ = body.inside
    rim_x, rim_y = (peg(inside, "sliding", printer) for inside in (inside_x, inside_y))
    core, two_lines = hole(screw.core, "core", printer), printer.thinnest_wall
    boss = core + 2 * max(LID_BOSS_WALL, two_lines)
    drip_inset, drip_width = _drip(printer)
    eaves = max(EAVES, drip_inset + drip_width + DRIP_ROOM)
    # The boss shares the rim's wall by a third, so that it stands on it and clears the body's corner.
    xs, ys = rim_x / 2 - boss / 2 - 0.2, rim_y / 2 - boss / 2 - 0.2
    rim_wall, rim_corner = max(LID_RIM_WALL, two_lines), body.inner_corner
    panes = () if cradle_screws or layout.misfit else panes_of(layout.cutouts, printer)
    free = boss if cradle_screws else rim_corner
    latching = latching_of((rim_x, rim_y), rim_wall, LID_RIM, (inside_x - rim_x) / 2, free, printer,
                           tuple(pane.kept for pane in panes))
    corners = tuple((sx * xs, sy * ys) for sx in (1, -1) for sy in (1, -1))
    lid = LidPlan(
        length=body.length + 2 * eaves, width=body.width + 2 * side_eaves(wagon, printer),
        bottom=body.top, top=body.top + LID_PLATE,
        corner=body.corner + eaves, rim_length=rim_x, rim_width=rim_y, rim=LID_RIM,
        rim_wall=rim_wall, rim_corner=rim_corner, screws=corners if cradle_screws else (), core=core, boss=boss,
        latching=latching,
        bevel=0.6 if cradle_screws else 1.2, drip_inset=drip_inset, drip_width=drip_width,
        blind=max(LID_BLIND, two_lines), panes=panes, front=max(FRONT, two_lines))
    if wagon.lights != "strip":
        return lid
    return replace(lid, strip=strips.resolve(body, lid, layout.placed, free, printer))
