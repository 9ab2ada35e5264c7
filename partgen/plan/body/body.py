"""The body: its shell with all that modules, lid, track sensors and name ask of it."""

from collections.abc import Iterator
from math import pi

from msgspec.structs import asdict

from partgen.plan.body import fittings as fitting
from partgen.plan.body import nameplate as nameplates
from partgen.plan.body.fittings import EYE, Fittings
from partgen.plan.body.layout import Layout
from partgen.plan.body.lid import LidPlan
from partgen.plan.body.lid_clip import LidClips
from partgen.plan.body.nameplate import Nameplate, PlatePlan
from partgen.plan.body.sensor_holder import Hung
from partgen.plan.body.shell import HEAD_ROOM, BodyShell, rounded_area, segment
from partgen.plan.context import Context
from partgen.plan.item import Core, Place
from partgen.plan.outline import Patch

Point = tuple[float, float]


class BodyPlan(BodyShell, frozen=True):
    """A body in wagon axes; heights over rail top; all in mm."""

    lid_clips: LidClips | None = None           # which snap under beads on its walls
    fittings: Fittings = Fittings()             # what its modules need
    leads: tuple[Patch, ...] = ()               # ways through the floor, of what hangs under it
    nameplate: Nameplate | None = None          # on both side walls

    @property
    def eyes(self) -> tuple[Point, ...]:
        """Middles (x, y) [mm] of the eyes for cable ties, beside the gap of every fence of a body with cables."""
        off = self.cable_gap / 2 + self.rib + EYE / 2
        wired = self.fittings.bosses or self.fittings.openings
        return tuple((rib.x, off if rib.y > 0 else -off) for rib in self.ribs
                     if wired and rib.width >= EYE + 2 * self.rib)

    @property
    def name_plates(self) -> tuple[PlatePlan, tuple[Place, ...]] | None:
        """The name plate that is printed apart, and where it stands; None for none."""
        plate = self.nameplate
        return nameplates.apart(plate, self.width) if plate and plate.layer and plate.tablets else None

    @property
    def volume(self) -> float:
        """Volume [mm3]: floor, walls and fences less fields and screw holes."""
        x, y, z = self.inside
        outer = rounded_area(self.length, self.width, self.corner)
        walls = (outer - rounded_area(x, y, self.inner_corner)) * z
        fences = len(self.fences) * self.rib * self.fence_height * (y - self.cable_gap)
        beads = self.lid_clips.bead_volume if self.lid_clips else 0.0
        fitted = beads + self.fittings.volume(self.wall - self.recess / 2)
        named = self.nameplate.taken(self) if self.nameplate else 0.0
        floor = (outer - sum(lead.length * lead.width for lead in self.leads)) * self.floor
        holes = len(self.screws) * pi / 4 * (self.screw_hole**2 * self.floor + self.cone**2 * self.cone_height / 3)
        flutes = len(self.screws) * segment(self.cone / 2 + HEAD_ROOM, self.flute) * z
        return floor + walls + fences + fitted - holes - flutes - named - self.fields_volume

    def cores(self, wall: float) -> Iterator[Core]:
        """Yield floor and walls, as thick as their fields leave them on average."""
        x, y, z = self.inside
        around = 2 * (x + y + 2 * self.wall)
        yield rounded_area(self.length - 2 * wall, self.width - 2 * wall, self.corner), self.floor
        yield around * (self.wall - 2 * wall) - self.fields_volume / z, z

    @property
    def centroid_z(self) -> float:
        """Height of the centre of gravity over rail top [mm]."""
        floor = self.length * self.width * self.floor
        walls = max(self.volume - floor, 1e-9)
        return self.bottom + (floor * self.floor / 2 + walls * (self.floor + self.inside[2] / 2)) / (floor + walls)


def resolve(context: Context, shell: BodyShell, lid: LidPlan | None, layout: Layout,
            hung: tuple[Hung, ...]) -> BodyPlan:
    """Resolve the body of a shell under its lid, with ways through its floor for what hangs under it."""
    fittings = fitting.resolve(context, shell, layout, lid) if lid else Fittings()
    return BodyPlan(**asdict(shell), lid_clips=lid.clips if lid else None, fittings=fittings,
                    leads=tuple(one.way for one in hung), nameplate=nameplates.resolve(context, shell, fittings))
