"""A part as it lies on the bed, looked at once for all wagons that use it."""

from functools import cached_property

from msgspec import Struct
from trimesh import Trimesh

from partgen.describe.printer_tables import Printer
from partgen.finding import Finding, judge
from partgen.formulas.printing import overhang_limit
from partgen.identity import PrintedId
from partgen.printing.regions import Region, regions
from partgen.solids.built import Built, lay

USUAL = 45.5            # deg from upright: 45, and what the facets of a round chamfer add
STEEPEST = 60.0         # deg; thinner layers promise more than cooling keeps (common practice, no source)


class Posed(Struct, frozen=True, eq=False, dict=True):
    """A mesh [mm] in its print pose, standing on z = 0 with its middle over the origin, and its printer.

    `subject` names the part for findings.
    """

    subject: PrintedId
    mesh: Trimesh
    printer: Printer

    @property
    def overhang_limit(self) -> float:
        """Steepest face [deg from upright] that carries itself: half a line rests below, 45 at least."""
        return min(max(USUAL, overhang_limit(self.printer.layer, self.printer.line_width)), STEEPEST)

    @cached_property
    def regions(self) -> tuple[Region, ...]:
        """The regions that do not carry themselves."""
        return regions(self.mesh, self.overhang_limit, self.printer.layer, self.printer.line_width)

    def judge(self, check, value, limit, sense, unit, remedy, warn_within=0.0) -> Finding:
        """Return the finding of `check` on this part."""
        return judge(check, self.subject, value, limit, sense, unit, remedy, warn_within)


def alike(built: Built):
    """Yield each kind of part in its print pose, its item, and the subjects of all printed from it."""
    kinds: dict[tuple[int, str], list] = {}
    for plan, item, mesh in built.parts():
        kinds.setdefault((id(mesh), item.part), []).append((plan.part_id(item.name), item, mesh))
    for users in kinds.values():
        subject, item, mesh = users[0]
        posed = Posed(subject, lay(item, mesh), built.train.description.printer)
        yield posed, item, [one for one, *_ in users]


def spot(point) -> str:
    """Return a place in the print pose in words, from the middle of the part's footprint on the bed."""
    x, y, z = (float(value) + 0.0 for value in point)
    return f"x {x:.1f}, y {y:.1f} from the middle, {z:.1f} mm over the bed"
