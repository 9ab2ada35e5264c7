"""Snap arms of axle clips and lid clips within what their plastic stands."""

from partgen.finding import judge, up
from partgen.formulas.plastic import arm_length
from partgen.plan.hardware import STRAIN
from partgen.plan.train import TrainPlan

TOUGHER = "PETG"


def snap_strain(train: TrainPlan):
    """Hold the strain of every kind of snap arm against its material: axles once, lids again and again."""
    printer = train.description.printer
    for plan in train.asked:
        yield _axle(plan, printer)
        if plan.lid:
            yield _lid(plan, plan.lid.clips, printer.material)


def _axle(plan, printer):
    clip, item = (plan.bogie.clip, "bogie") if plan.bogie else (plan.gear.holder.clip, "axle-holder")
    limit, axle = STRAIN[printer.material], plan.wheelset.bearing_diameter
    per_share = clip.strain(axle, 0.0)
    return judge("snap-strain", plan.part_id(item), clip.strain(axle, printer.snap_share), limit, "max", "1",
                 f"the arms that let the axle in bend too far for {printer.material}: raise printer.snap_share to "
                 f"{up(1 - limit / per_share, 3)}{_tougher(printer.material)}")


def _lid(plan, clips, material):
    clip, limit = clips.clip, clips.permissible
    longer = arm_length(clip.thickness, clip.travel, limit) - clip.arm
    return judge("snap-strain", plan.part_id("lid-clip"), clip.strain, limit, "max", "1",
                 f"the lid's clips bend too sharply for {material}: make the body {up(2 * longer)} mm wider or longer"
                 f"{_tougher(material)}")


def _tougher(material: str) -> str:
    return f", or in {TOUGHER}, which stands {STRAIN[TOUGHER]:.0%}" if STRAIN[material] < STRAIN[TOUGHER] else ""
