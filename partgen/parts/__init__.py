"""Every printed part: one record each, and the drawing of its solid from its plan.

What a record says is asked by checks, pictures, bill, assembly and print order alike. The drawings need the CAD kernel;
they are loaded when a part is drawn, so that whoever asks the records does without.
"""

from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from traceback import extract_tb
from typing import TYPE_CHECKING, Any

from partgen.errors import KernelError
from partgen.parts import bought
from partgen.parts.record import POSES, Part
from partgen.parts.steps import gear, track, wagon
from partgen.plan.item import Beside, Item
from partgen.plan.wagon import WagonPlan

if TYPE_CHECKING:
    from cadquery import Shape, Solid

HERE = Path(__file__).parent

# A calm palette: cream and bottle green over a dark frame, oak and brass for what the eye should find.
GREEN, CREAM, BRASS, STEEL = (0.15, 0.36, 0.29), (0.93, 0.87, 0.75), (0.83, 0.69, 0.43), (0.31, 0.32, 0.34)
WOOD = (0.72, 0.57, 0.41)

PARTS: dict[str, Part] = {
    "coupler-cover": Part(drawn_by="coupler.cover", needs=("coupler",), colour=BRASS, apart=-0.6, swings="drawbar",
                          bought=bought.magnets, steps=gear.covers),
    "frame": Part(drawn_by="frame.frame", pose="flipped", colour=(0.23, 0.24, 0.26), bought=bought.ballast),
    "wheel": Part(drawn_by="wheel.wheel", pose="on-side", colour=(0.36, 0.34, 0.33), apart=-1.5, swings="bogie",
                  kept="so that tread and flange are drawn round by the nozzle",
                  bought=bought.rods, steps=gear.wheels),
    "axle-holder": Part(drawn_by="running_gear.holder", pose="on-side", needs=("frame",), colour=STEEL, apart=-0.9,
                        kept="so that its snap arms bend along the layers and not apart between them",
                        bought=bought.wheelsets, steps=gear.holders),
    "pin-holder": Part(drawn_by="pin_holder.pin_holder", pose="on-end", needs=("frame",), colour=STEEL, apart=-0.9,
                       kept="so that its cheeks bend along the layers and not apart between them",
                       bought=bought.wheelsets, steps=gear.holders),
    "clamp-bar": Part(drawn_by="running_gear.bar", needs=("frame", "axle-holder"), colour=(0.44, 0.45, 0.46),
                      apart=0.32),
    "bogie": Part(drawn_by="running_gear.bogie", pose="on-side", needs=("frame",), colour=STEEL, apart=-0.9,
                  swings="bogie", kept="so that its layers lie along the arms that carry the axles",
                  bought=bought.wheelsets, steps=gear.bogies),
    "coupler-arm": Part(drawn_by="arm.arm", pose="flipped", needs=("frame",), colour=STEEL, apart=-0.65, swings="bogie",
                        kept="so that the pull runs along its layers and its seat stands upright"),
    "coupler": Part(drawn_by="coupler.drawbar", pose="flipped", needs=("frame",), colour=(0.74, 0.57, 0.29),
                    apart=-0.45, swings="drawbar", kept="so that the pull runs along its layers",
                    steps=gear.drawbars),
    "body": Part(drawn_by="body.body", needs=("frame",), colour=CREAM, apart=0.75, bought=bought.inside,
                 steps=wagon.body),
    "name-plate": Part(drawn_by="nameplate.name_plate", pose="on-side", needs=("body",), colour=GREEN, apart=0.75,
                       kept="so that its letters lie in layers of their own, where the filament is changed",
                       bought=bought.name_plates, steps=wagon.name_plates),
    "sensor-holder": Part(drawn_by="sensor_holder.tray", needs=("frame",), colour=(0.30, 0.31, 0.33), apart=-0.75,
                          kept="so that its inside needs no bridge", bought=bought.sensors, steps=wagon.sensors),
    "lid": Part(drawn_by="lid.lid", pose="flipped", needs=("body",), colour=GREEN, apart=1.7, bought=bought.sheets,
                steps=wagon.lid),
    "lid-clip": Part(drawn_by="lid.clip", needs=("lid",), colour=BRASS, apart=1.35,
                     kept="so that its arms bend along the layers and not apart between them"),
    "cradle": Part(drawn_by="cradle.cradle", needs=("body", "lid"), colour=WOOD, apart=2.2,
                   bought=bought.cups, steps=wagon.cradle),
    "insert": Part(drawn_by="cradle.insert", needs=("cradle",), colour=GREEN, apart=2.65),
    "marker": Part(drawn_by="trackside.marker", colour=CREAM, bought=bought.markers, steps=track.markers),
    "fill-gauge": Part(drawn_by="trackside.fill_gauge", colour=WOOD, bought=bought.fill_marks,
                       steps=track.fill_gauges),
    "track-gauge": Part(drawn_by="trackside.gauge", colour=GREEN, steps=track.track_gauges),
    "wheel-jig": Part(drawn_by="wheel.jig", colour=GREEN, steps=track.jigs),
    "wheel-gauge": Part(drawn_by="trackside.gauge", colour=GREEN, steps=track.wheel_gauges),
    "adaptor": Part(drawn_by="adaptor.adaptor", pose="flipped", colour=STEEL),
    "adaptor-coupler": Part(drawn_by="coupler.drawbar", pose="flipped", needs=("adaptor",), colour=(0.74, 0.57, 0.29),
                            kept="so that the pull runs along its layers"),
    "adaptor-cover": Part(drawn_by="coupler.cover", needs=("adaptor-coupler",), colour=BRASS),
    "radius-template": Part(drawn_by="trackside.template", colour=GREEN, steps=track.templates),
}
"""The record of every kind of printed part by its name in `Item.part`, in the order of putting a wagon together;
parts without steps of their own are mounted by another's; those of the adaptor with the locomotive, at last."""


def record_of(part: str) -> Part:
    """Return the record of a kind of part. Raises LookupError, naming it, where there is none or it is not whole."""
    if part not in PARTS:
        raise LookupError(f"{part} has no record: give it one in PARTS, partgen/parts/__init__.py")
    found = PARTS[part]
    file, _, function = found.drawn_by.partition(".")
    faults = [f"no file {file}.py draws it"] if not function or not (HERE / f"{file}.py").exists() else []
    faults += [f"{found.pose} is no print pose"] if found.pose not in POSES else []
    faults += [f"{need}, which it needs, has no record" for need in found.needs if need not in PARTS]
    if faults:
        raise LookupError(f"the record of {part} is wrong: {'; '.join(faults)}")
    return found


def mounted(plan: WagonPlan | Beside) -> tuple[Part, ...]:
    """Return the records of all parts that a wagon or the track has, in the order in which it is put together."""
    there = {item.part: record_of(item.part) for item in plan.items}
    return tuple(there[part] for part in PARTS if part in there)


def printed_size(item: Item) -> tuple[float, float, float]:
    """Return the planned extent [mm] of a part along the bed's x and y and upwards, in its print pose."""
    x, y, z = (sum(abs(k) * side for k, side in zip(row, item.plan.size, strict=True))
               for row in POSES[record_of(item.part).pose])
    return x, y, z


def build(part: str, plan: Any) -> "Solid":
    """Draw one part in its own frame [mm] and prove it sound.

    Args:
        part: key of PARTS, as in `Item.part`.
        plan: the part's plan.

    Raises KernelError, naming part, feature and size, when the kernel gives up or what it made is no
    single valid solid.
    """
    from partgen.parts.shapes import KERNEL_FAULTS
    file, function = record_of(part).drawn_by.split(".")
    draw: Callable[[Any], Shape] = getattr(import_module(f"partgen.parts.{file}"), function)
    size = " x ".join(f"{side:.1f}" for side in plan.size) + " mm"
    try:
        shape = draw(plan)
    except KERNEL_FAULTS as error:
        raise KernelError(part, f"{_feature(error)} ({error})", size) from error
    if len(solids := shape.Solids()) != 1:
        raise KernelError(part, f"{len(solids)} solids instead of one", size)
    if not shape.isValid() or shape.Volume() <= 0:
        raise KernelError(part, "an unsound solid", size)
    return solids[0]


def _feature(error: BaseException) -> str:
    """Return which feature was being drawn: the innermost function of the part's own file."""
    drawn = [entry for entry in extract_tb(error.__traceback__)
             if Path(entry.filename).parent == HERE and Path(entry.filename).stem not in ("__init__", "shapes")]
    return drawn[-1].name.strip("_").replace("_", " ") if drawn else "whole"
