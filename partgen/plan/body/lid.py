"""The lid over a body: plate with eaves, rim, clips' sockets, windows, light strips, cores for a cradle's screws."""

from collections.abc import Iterator
from math import pi

from partgen.describe.printer_tables import Printer
from partgen.plan.body import lid_clip as lid_clips
from partgen.plan.body import light_strip as strips
from partgen.plan.body.layout import Layout, Placed
from partgen.plan.body.lid_clip import WINDOW, LidClips, LidRim
from partgen.plan.body.pane import FROM_RIM, FRONT, LARGE, Pane, from_wall, panes_of
from partgen.plan.body.shell import LEAST_CORNER, BodyShell, rounded_area
from partgen.plan.context import Context
from partgen.plan.fastening import DRIP, LID_BLIND, lid_boss, lid_plate, lid_rim
from partgen.plan.fits import hole, peg, relief
from partgen.plan.item import Core, PartPlan
from partgen.plan.outline import between, grown

EAVES = 1.6
LID_RIM_WALL = 1.6
RIM_FOOT = 0.6          # 45 degree fillet between rim and plate
LID_BOSS_WALL = 1.8     # round that core
DRIP_INSET, DRIP_WIDTH = 0.9, 0.5       # groove under the eaves: two lines in from the edge
DRIP_ROOM = 0.2         # groove to the body's wall


class LidPlan(PartPlan, frozen=True):
    """A lid in wagon axes: plate from `bottom` up to `top` over rail top, rim down inside the walls; mm."""

    length: float
    width: float
    bottom: float
    top: float
    corner: float
    rim: LidRim
    screws: tuple[tuple[float, float], ...]     # blind cores for the cradle's screws
    core: float
    mouth: tuple[float, float]                  # width and depth of the cone at each core's mouth
    boss: float
    boss_reach: float                           # how far the bosses reach down below the plate; 0 without cores
    clips: LidClips
    bevel: float = 0.6      # round the deck's edge
    drip_inset: float = DRIP_INSET      # of the groove under the eaves
    drip_width: float = DRIP_WIDTH
    blind: float = LID_BLIND        # below each core
    panes: tuple[Pane, ...] = ()
    front: float = FRONT            # of plate before a pane
    strip: strips.StripPlan | None = None       # of light, under the eaves

    @property
    def rim_inner_corner(self) -> float:
        """Radius [mm] of the upright corners on the rim's inside."""
        return max(self.rim.rounding - self.rim.wall, LEAST_CORNER)

    @property
    def core_depth(self) -> float:
        """Depth [mm] of the blind cores from the deck."""
        return self.top - self.bottom + self.boss_reach - self.blind

    @property
    def lowest(self) -> float:
        """Height [mm over rail top] down to which the lid reaches outside the body."""
        return self.bottom - (self.rim.depth if self.strip else 0.0)

    @property
    def recess(self) -> float:
        """Depth [mm] of the panes' recesses from the inside; a thin one lets its pane stand out."""
        return self.top - self.bottom - self.front

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (self.length, self.width, self.top - self.bottom + max(self.rim.depth, self.boss_reach))

    @property
    def volume(self) -> float:
        """Volume [mm3]: plate less bevel and groove, rim, bosses less what the rim shares, no cores."""
        plate = rounded_area(self.length, self.width, self.corner) * (self.top - self.bottom)
        round_it = self.length + self.width - 2 * self.corner
        edge = (self.bevel**2 + 2 * DRIP * self.drip_width) * round_it
        of = self.rim
        inner = rounded_area(of.length - 2 * of.wall, of.width - 2 * of.wall, self.rim_inner_corner)
        rim = (rounded_area(of.length, of.width, of.rounding) - inner) * of.depth
        boss = 0.6 * self.boss**2 * self.boss_reach - self.core**2 * self.core_depth
        openings = 2 * len(self.clips.sockets) * of.wall * of.depth * (WINDOW + self.clips.hole / 2)
        seen = sum(pane.recess.length * pane.recess.width * self.recess
                   + sum(one.length * one.width for one in pane.openings) * self.front for pane in self.panes)
        lit = self.strip.volume if self.strip else 0.0
        return plate - edge + rim - openings - seen + lit + self.clips.volume + len(self.screws) * pi / 4 * boss

    def cores(self, wall: float) -> Iterator[Core]:
        """Yield the plate."""
        panes = sum(pane.recess.length * pane.recess.width for pane in self.panes)
        yield (self.length - 2 * wall) * (self.width - 2 * wall) - panes, self.top - self.bottom

    @property
    def centroid_z(self) -> float:
        """Height of the centre of gravity over rail top [mm]."""
        return self.bottom + 0.35 * (self.top - self.bottom)

    def depth(self, placed: Placed, floor: float) -> float:
        """Return how far [mm] below the deck the upper face of a module lies; `floor` is the body's floor over rail
        top [mm]."""
        return self.top - floor - placed.z - placed.height

    def beside(self, pane: Pane) -> tuple[float, str]:
        """Return how far [mm] a pane's recess is from the nearest of the rim's foot and the clips' sockets, negative
        where they meet, and which that is."""
        (x0, x1), (y0, y1) = pane.recess.spans
        half_x, half_y = (side / 2 - self.rim.wall - RIM_FOOT for side in (self.rim.length, self.rim.width))
        sockets = ((between(pane.recess.spans, block), "clip's socket") for block in self.clips.blocks)
        return min((half_x - x1, "front rim"), (half_x + x0, "back rim"), (half_y - y1, "left rim"),
                   (half_y + y0, "right rim"), *sockets)


def resolve(context: Context, shell: BodyShell, layout: Layout, seated: bool) -> LidPlan:
    """Resolve the lid of a shell: where cups are `seated` on it closed and with four blind cores that carry a cradle,
    else with windows over all modules of `layout` that look up; with a light strip where the wagon wishes one."""
    printer, (inside_x, inside_y, _) = context.printer, shell.inside
    rim_x, rim_y = peg(inside_x, "sliding", printer), peg(inside_y, "sliding", printer)
    core, two_lines = hole(context.screw.core, "core", printer), printer.thinnest_wall
    boss = core + 2 * max(LID_BOSS_WALL, two_lines)
    # The boss shares the rim's wall by a third, so that it stands on it and clears the body's corner.
    xs, ys = rim_x / 2 - boss / 2 - 0.2, rim_y / 2 - boss / 2 - 0.2
    rim = LidRim(rim_x, rim_y, max(LID_RIM_WALL, two_lines), lid_rim(printer), shell.inner_corner,
                 gap=(inside_x - rim_x) / 2, corner=boss if seated else shell.inner_corner)
    panes = () if seated or layout.misfit else panes_of(layout.cutouts, printer)
    clips = lid_clips.resolve(rim, printer, tuple(grown(pane.recess.spans, FROM_RIM) for pane in panes))
    drip_inset, drip_width = _drip(printer)
    eaves, reach = max(EAVES, drip_inset + drip_width + DRIP_ROOM), side_eaves(context)
    return LidPlan(
        length=shell.length + 2 * eaves, width=shell.width + 2 * reach, bottom=shell.top,
        top=shell.top + lid_plate(printer), corner=shell.corner + eaves, rim=rim, clips=clips,
        bevel=0.6 if seated else 1.2, core=core, boss=boss,
        mouth=relief(context.screw, printer), boss_reach=lid_boss(context) if seated else 0.0,
        screws=tuple((sx * xs, sy * ys) for sx in (1, -1) for sy in (1, -1)) if seated else (),
        drip_inset=drip_inset, drip_width=drip_width, blind=max(LID_BLIND, two_lines), panes=panes,
        front=max(FRONT, two_lines),
        strip=strips.resolve(context, shell, layout, rim, clips, reach) if context.wagon.lights == "strip" else None)


def window_room(printer: Printer) -> float:
    """Return how far [mm] from the body's walls what is seen through the lid must stay: past the lid's rim."""
    gap = (LARGE - peg(LARGE, "sliding", printer)) / 2
    return from_wall(gap + max(LID_RIM_WALL, printer.thinnest_wall) + RIM_FOOT, printer)


def side_eaves(context: Context) -> float:
    """Return how far [mm] the wagon's lid reaches beyond the body's sides."""
    inset, width = _drip(context.printer)
    if context.wagon.lights == "strip":
        return strips.eaves(context.printer, inset + width + 0.1)
    return max(EAVES, inset + width + DRIP_ROOM)


def _drip(printer: Printer) -> tuple[float, float]:
    """Return inset and width [mm] of the drip groove."""
    return max(DRIP_INSET, printer.thinnest_wall), max(DRIP_WIDTH, printer.line_width)
