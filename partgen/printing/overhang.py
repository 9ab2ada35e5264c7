"""What is printed over air: faces that lean out too far, and ceilings that bridge."""

import numpy as np

from partgen.finding import Finding
from partgen.printing.posed import Posed, spot
from partgen.printing.regions import lean

BRIDGE = 10.0           # mm; sources disagree between 10 to 15 and 50 to 80: the shortest holds for all
LONGEST_BRIDGE = 50.0   # mm; what only some printers manage at their best
SEEN = 0.5              # mm2 of surface that must lean as far


def overhang(posed: Posed) -> Finding:
    """Hold the steepest face that neither its layers nor a bridge carries against the printer's limit."""
    limit = posed.overhang_limit
    hanging = max((region for region in posed.regions if region.hanging),
                  key=lambda region: (region.angle, region.hanging), default=None)
    if hanging is None:
        return posed.judge("overhang", steepest(posed), limit, "max", "deg", "")
    return posed.judge("overhang", hanging.angle, limit, "max", "deg",
                       f"{hanging.hanging:.1f} mm2 hang free near {spot(hanging.place)}, "
                       f"{hanging.angle:.0f} deg from upright: put a slope of {limit:.0f} deg or less under "
                       "it, or turn the part")


def steepest(posed: Posed) -> float:
    """Return the steepest lean [deg from upright] of what carries itself, the bed's face left out."""
    mesh = posed.mesh
    leans, off_bed = lean(mesh), mesh.triangles[:, :, 2].max(axis=1) > posed.printer.layer
    own = np.flatnonzero(off_bed & (leans <= posed.overhang_limit))
    order = own[np.argsort(-leans[own], kind="stable")]
    enough = np.searchsorted(np.cumsum(mesh.area_faces[order]), SEEN)
    return float(max(0.0, leans[order[enough]])) if enough < len(order) else 0.0


def bridge(posed: Posed) -> Finding:
    """Hold the longest bridge against what every printer spans; more is close, far more fails."""
    longest = max((region for region in posed.regions if not region.hanging),
                  key=lambda region: region.span, default=None)
    span, place = (longest.span, spot(longest.place)) if longest else (0.0, "")
    return posed.judge("bridge", span, LONGEST_BRIDGE, "max", "mm",
                       f"a bridge of {span:.1f} mm at {place}: print it slowly with full cooling, or put "
                       f"ribs under it, at most {BRIDGE:g} mm apart",
                       warn_within=LONGEST_BRIDGE - BRIDGE)
