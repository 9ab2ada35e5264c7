"""Every printed part drawn as a solid from its plan; the only room besides `mesh.py` and exports with CAD."""

from pathlib import Path
from traceback import extract_tb

from cadquery import Solid

from partgen.errors import KernelError
from partgen.parts import (
    bar,
    body,
    bogie,
    coupler,
    cover,
    cradle,
    frame,
    gauges,
    holder,
    insert,
    lid,
    marker,
)
from partgen.parts import (
    lid_clip as latch,
)
from partgen.parts import (
    sensor_holder as sensor,
)
from partgen.parts.shapes import KERNEL_FAULTS, PartWarning

__all__ = ["CATALOGUE", "PartWarning", "build"]

CATALOGUE = {
    "axle-holder": holder.build,
    "clamp-bar": bar.build,
    "bogie": bogie.build,
    "frame": frame.build,
    "coupler": coupler.build,
    "coupler-cover": cover.build,
    "body": body.build,
    "lid": lid.build,
    "lid-clip": latch.build,
    "cradle": cradle.build,
    "insert": insert.build,
    "sensor-holder": sensor.build,
    "marker": marker.build,
    "track-gauge": gauges.build_gauge,
    "wheel-gauge": gauges.build_gauge,
    "radius-template": gauges.build_template,
}
"""What each kind of printed part is built by, its plan being the argument."""


def build(part: str, plan) -> Solid:
    """Build one part in its own frame [mm] and prove it sound.

    Args:
        part: key of CATALOGUE, as in `Item.part`.
        plan: the part's plan.

    Raises KernelError, naming part, feature and size, when the kernel gives up or what it made is no
    single valid solid.
    """
    try:
        shape = CATALOGUE[part](plan)
    except KERNEL_FAULTS as error:
        raise KernelError(part, f"{_feature(error)} ({error})", _size(plan)) from error
    if len(shape.Solids()) != 1:
        raise KernelError(part, f"{len(shape.Solids())} solids instead of one", _size(plan))
    if not shape.isValid() or shape.Volume() <= 0:
        raise KernelError(part, "an unsound solid", _size(plan))
    return shape.Solids()[0]


def _feature(error) -> str:
    """Return which feature was being drawn: the innermost function of the part's own file."""
    here = Path(__file__).parent
    drawn = [entry for entry in extract_tb(error.__traceback__)
             if Path(entry.filename).parent == here
             and Path(entry.filename).stem not in ("__init__", "shapes")]
    return drawn[-1].name.strip("_").replace("_", " ") if drawn else "whole"


def _size(plan) -> str:
    return " x ".join(f"{side:.1f}" for side in plan.size) + " mm"
