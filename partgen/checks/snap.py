"""Snap arms of axle clips and lid clips within what their plastic stands."""

from collections.abc import Iterator

from partgen.describe.printer_tables import Printer
from partgen.finding import Finding, judge, up
from partgen.formulas.plastic import arm_length
from partgen.plan.body.lid_clip import TRAVEL, LidClips
from partgen.plan.hardware import STRAIN
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

TOUGHER = "PETG"


def snap_strain(train: TrainPlan) -> Iterator[Finding]:
    """Hold the strain of every kind of snap arm against its material: axles once, lids again and again."""
    printer = train.description.printer
    for plan in train.asked:
        yield _axle(plan, printer)
        if plan.lid:
            yield _lid(plan, plan.lid.clips, printer.material)


def _axle(plan: WagonPlan, printer: Printer) -> Finding:
    item = next(item for item in plan.items if item.part in ("axle-holder", "bogie"))
    clip, limit, axle = plan.gear.clip, STRAIN[printer.material], plan.wheelset.bearing_diameter
    per_share = clip.strain(axle, 0.0)
    return judge("snap-strain", plan.part_id(item.name), clip.strain(axle, printer.snap_share), limit, "max", "1",
                 f"the arms that let the axle in bend too far for {printer.material}: raise printer.snap_share to "
                 f"{up(1 - limit / per_share, 3)}{_tougher(printer.material)}")


def _lid(plan: WagonPlan, clips: LidClips, material: str) -> Finding:
    clip, limit = clips.clip, clips.permissible
    longer = arm_length(clip.thickness, TRAVEL, limit) - clip.arm
    return judge("snap-strain", plan.part_id("lid-clip"), clip.strain, limit, "max", "1", "the lid's clips bend too "
                 f"sharply for {material}: make the body {up(2 * longer)} mm wider or longer{_tougher(material)}")


def _tougher(material: str) -> str:
    return f", or in {TOUGHER}, which stands {STRAIN[TOUGHER]:.0%}" if STRAIN[material] < STRAIN[TOUGHER] else ""
