"""Snaps of axle clips, lid clips and inserts: within what their plastic stands and what hands press, and holding."""

from collections.abc import Iterator

from msgspec import Struct

from partgen.finding import Finding, apart, judge
from partgen.identity import PartId
from partgen.plan.body.lid_clip import LidClips
from partgen.plan.deck.insert import InsertPlan
from partgen.plan.hardware import LEAST_HOLD, OFTEN, ONCE, PLASTICS, THUMB
from partgen.plan.running_gear.axle_clip import AxleClip, least_hold
from partgen.plan.running_gear.pin_cups import PinCups
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan


class Snap(Struct, frozen=True):
    """A snap: whose, what of it `bends`, the strain [1] there and what is allowed, the forces [N] that it closes and
    opens with, and the least that must hold it."""

    who: PartId
    bends: str
    material: str
    strain: float
    permissible: float
    insertion: float
    retention: float
    hold: float
    done: str = "to press in"


def snaps(plan: WagonPlan) -> Iterator[Snap]:
    """Yield every snap of a wagon, each kind once."""
    yield _axle(plan, plan.gear.clip)
    if plan.lid:
        yield _lid(plan, plan.lid.clips)
    for item in plan.items:
        if isinstance(item.plan, InsertPlan):
            yield _insert(plan.part_id(item.name), item.plan)


def snap_strain(train: TrainPlan) -> Iterator[Finding]:
    """Hold the strain of every kind of snap against its material: axles a few times, lids and inserts often."""
    for snap in (snap for plan in train.asked for snap in snaps(plan)):
        strain, stands = apart(snap.strain, snap.permissible, spec="%")
        yield judge("snap-strain", snap.who, snap.strain, snap.permissible, "max", "1",
                    f"{snap.bends} too far for {snap.material}: by {strain}, it stands {stands}")


def snap_force(train: TrainPlan) -> Iterator[Finding]:
    """Hold the force that every kind of snap closes with against a thumb's, at the most friction; and the force that
    opens it against what must hold it, at the least. An insert is taken out by hand as it is put in."""
    for snap in (snap for plan in train.asked for snap in snaps(plan)):
        (push, thumb), (pull, hold) = apart(snap.insertion, THUMB, 0), apart(snap.retention, snap.hold)
        yield judge("snap-force", snap.who, snap.insertion, THUMB, "max", "N",
                    f"it takes {push} N {snap.done}, a thumb gives {thumb} N")
        yield judge("snap-force", snap.who, snap.retention, snap.hold, "min", "N",
                    f"it comes out with {pull} N, {hold} N must hold it")


def _axle(plan: WagonPlan, clip: AxleClip | PinCups) -> Snap:
    item = next(item for item in plan.items if item.part in ("axle-holder", "pin-holder", "bogie"))
    return Snap(plan.part_id(item.name), "the arms that let the axle in bend", clip.material, clip.strain,
                PLASTICS[clip.material].permissible(ONCE), clip.insertion, clip.retention, least_hold(plan.wheelset))


def _lid(plan: WagonPlan, clips: LidClips) -> Snap:
    return Snap(plan.part_id("lid-clip"), "the lid's clips bend", clips.clip.material, clips.clip.strain,
                clips.permissible, clips.insertion, clips.retention, LEAST_HOLD)


def _insert(who: PartId, ring: InsertPlan) -> Snap:
    return Snap(who, "its ring bends", ring.material, ring.strain, PLASTICS[ring.material].permissible(OFTEN),
                ring.release, ring.retention, LEAST_HOLD, "to put in and take out by hand")
