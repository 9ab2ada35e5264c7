"""Does a part print as it lies on the bed: walls, slots, hollows, overhangs, bridges, first layer."""

from collections.abc import Callable, Iterable, Iterator

from msgspec.structs import replace

from partgen.checks import by_id
from partgen.describe.printer_tables import LONGEST_BRIDGE
from partgen.finding import Finding, judge
from partgen.identity import Subject
from partgen.kept import Store
from partgen.parts import record_of
from partgen.printing.overhang import steepest
from partgen.printing.pose import advice
from partgen.printing.posed import SLENDER, Posed, alike, contact, least_contact, voids
from partgen.printing.walls import narrowest_slot, thinnest_wall
from partgen.solids.built import Built

FACETS = 0.04           # mm that flat facets cut off a curved wall, 0.02 on either side
TURNED = ("overhang", "bridge", "first-layer")
"""Checks that another print pose may pass."""


def printed(built: Built) -> Iterator[Finding]:
    """Yield every finding on every part of every wagon, each kind of part judged once."""
    for posed, item, subjects in alike(built):
        found = looked_at(posed, item.part, built.kept)
        yield from (replace(finding, subject=subject) for subject in subjects for finding in found)


def looked_at(posed: Posed, part: str, kept: Store) -> list[Finding]:
    """Return every finding on a part as it lies, of nobody yet."""
    return kept.data("print checks", (*posed.key, part), lambda: list(_judged(posed, part)), list[Finding])


def _judged(posed: Posed, part: str) -> Iterator[Finding]:
    found = [check(posed) for check in PRINT_CHECKS.values()]
    turned = [finding for finding in found if finding.verdict == "fail" and finding.check in TURNED]
    said = advice(posed, record_of(part)) if turned else None
    for finding in found:
        more = f"; {said.text}" if said and said.better is not None and finding in turned else ""
        yield replace(finding, subject=Subject(), reason=finding.reason + more)


def wall(posed: Posed) -> Finding:
    """Hold the thinnest wall against two lines, or less where it lies or stands out little."""
    found = thinnest_wall(posed)
    two = found.least > posed.printer.thinnest_wall - 1e-9
    what = f"two lines of {posed.printer.line_width:g} mm" if two else (
        f"the {found.least:.2f} mm that {'level plastic' if found.lying else 'so low a rib'} takes")
    return judge("wall", posed.subject, _curved(found.thick, found.least), found.least, "min", "mm",
                 f"{found.thick:.2f} mm of plastic at {spot(found.place)}, {found.least - found.thick:.2f} mm less "
                 f"than {what}")


def slot(posed: Posed) -> Finding:
    """Hold the narrowest slot, groove or engraved stroke against one line: anything less prints shut."""
    measured, place = narrowest_slot(posed)
    limit = posed.printer.line_width
    return judge("slot", posed.subject, _curved(measured, limit), limit, "min", "mm", f"{measured:.2f} mm of air at "
                 f"{spot(place)}, {limit - measured:.2f} mm less than one line")


def _curved(measured: float, limit: float) -> float:
    """Return the size [mm] that the facets' corners lie on, as far as it is needed to reach the limit."""
    return max(measured, min(measured + FACETS, limit))


def void(posed: Posed) -> Finding:
    """Count the volume of closed hollows: what lies in them stays there, and the slicer may fill them."""
    holes = voids(posed.mesh)
    volume = sum(size for size, _ in holes)
    place = spot(max(holes)[1]) if holes else ""
    return judge("void", posed.subject, volume, 0.0, "max", "mm3", f"{len(holes)} closed hollow of {volume:.1f} mm3 in "
                 f"all, around {place}")


def overhang(posed: Posed) -> Finding:
    """Hold the steepest face that neither its layers nor a bridge carries against the printer's limit."""
    limit = posed.overhang_limit
    hanging = max((region for region in posed.regions if region.hanging),
                  key=lambda region: (region.angle, region.hanging), default=None)
    found = hanging.angle if hanging else steepest(posed.mesh, limit, posed.printer.layer)
    return judge("overhang", posed.subject, found, limit, "max", "deg",
                 f"{hanging.hanging:.1f} mm2 hang free near {spot(hanging.place)}, {found:.0f} deg from upright"
                 if hanging else "")


def bridge(posed: Posed) -> Finding:
    """Hold the longest bridge against what the printer spans level; more is close, far more fails."""
    longest = max((region for region in posed.regions if not region.hanging),
                  key=lambda region: region.span, default=None)
    span, place = (longest.span, spot(longest.place)) if longest else (0.0, "")
    return judge("bridge", posed.subject, span, LONGEST_BRIDGE, "max", "mm",
                 f"a bridge of {span:.1f} mm at {place}, {posed.printer.bridge:g} mm are sure: print it slowly with "
                 "full cooling",
                 warn_within=LONGEST_BRIDGE - posed.printer.bridge,
                 note=f"over the {posed.printer.bridge:g} mm that the printer bridges" if span > posed.printer.bridge
                 else "")


def first_layer(posed: Posed) -> Finding:
    """Hold the contact with the bed and its smallest width against what the part's height needs.

    One finding, in mm2 for the contact or in mm for its width, whichever is worse.
    """
    area, width, height = contact(posed.mesh)
    least, enough = height / SLENDER, least_contact(height)
    small = judge("first-layer", posed.subject, area, enough, "min", "mm2", f"only {area:.1f} mm2 touch the bed, "
                  f"{enough - area:.1f} mm2 too few without a brim")
    thin = judge("first-layer", posed.subject, width, least, "min", "mm", f"{height:.1f} mm tall on a foot "
                 f"{width:.1f} mm wide, {least:.1f} mm would hold it without a brim")
    return min(small, thin, key=lambda finding: finding.value / max(finding.limit, 1e-9))


def spot(point: Iterable[float]) -> str:
    """Return a place in the print pose in words, from the middle of the part's footprint on the bed."""
    x, y, z = (float(value) + 0.0 for value in point)
    return f"x {x:.1f}, y {y:.1f} from the middle, {z:.1f} mm over the bed"


PRINT_CHECKS: dict[str, Callable[[Posed], Finding]] = by_id(wall, slot, void, overhang, bridge, first_layer)
"""Checks on a part as it lies on the bed: id to function of a posed part."""
