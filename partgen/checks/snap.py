"""Snaps of axle clips, lid clips and inserts: within what their plastic stands and what hands press, and holding."""

from collections.abc import Iterator

from msgspec import Struct

from partgen.describe.description import Description
from partgen.finding import Finding, down, judge, up
from partgen.identity import PartId
from partgen.plan import running_gear
from partgen.plan.body.lid_clip import LidClips
from partgen.plan.context import context_of
from partgen.plan.deck.insert import InsertPlan
from partgen.plan.hardware import LEAST_HOLD, OFTEN, ONCE, PLASTICS, THUMB
from partgen.plan.running_gear.axle_clip import GRAVITY, WEIGHTS, AxleClip, least_hold
from partgen.plan.running_gear.pin_cups import PinCups
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

TOUGHER, STIFFEST = "PETG", "PLA"
SHARES = (0.9, 0.88, 0.92, 0.86, 0.94, 0.84, 0.96, 0.82, 0.8)    # tried, the usual one first


class Snap(Struct, frozen=True):
    """A snap: whose, the strain [1] of its arms and what is allowed, the forces [N] that it closes and opens with, the
    least that must hold it, and what to change where it bends too sharply, goes in too hard, or holds too little."""

    who: PartId
    strain: float
    permissible: float
    insertion: float
    retention: float
    hold: float
    blunter: str
    softer: str
    firmer: str


def snaps(plan: WagonPlan, description: Description) -> Iterator[Snap]:
    """Yield every snap of a wagon, each kind once."""
    yield _axle(plan, plan.gear.clip, description)
    if plan.lid:
        yield _lid(plan, plan.lid.clips)
    for item in plan.items:
        if isinstance(item.plan, InsertPlan):
            yield _insert(plan.part_id(item.name), item.plan)


def snap_strain(train: TrainPlan) -> Iterator[Finding]:
    """Hold the strain of every kind of snap against its material: axles a few times, lids and inserts often."""
    for snap in (snap for plan in train.asked for snap in snaps(plan, train.description)):
        yield judge("snap-strain", snap.who, snap.strain, snap.permissible, "max", "1", snap.blunter)


def snap_force(train: TrainPlan) -> Iterator[Finding]:
    """Hold the force that every kind of snap closes with against a thumb's, at the most friction; and the force that
    opens it against what must hold it, at the least."""
    for snap in (snap for plan in train.asked for snap in snaps(plan, train.description)):
        yield judge("snap-force", snap.who, snap.insertion, THUMB, "max", "N",
                    f"it takes {snap.insertion:.0f} N to press in: {snap.softer}")
        yield judge("snap-force", snap.who, snap.retention, snap.hold, "min", "N",
                    f"it comes out with {snap.retention:.1f} N: {snap.firmer}")


def _axle(plan: WagonPlan, clip: AxleClip | PinCups, description: Description) -> Snap:
    item = next(item for item in plan.items if item.part in ("axle-holder", "pin-holder", "bogie"))
    limit, hold = PLASTICS[clip.material].permissible(ONCE), least_hold(plan.wheelset)
    good = clip.strain <= limit and clip.insertion <= THUMB and clip.retention >= hold
    cure = "" if good else _cure(plan, description)
    return Snap(plan.part_id(item.name), clip.strain, limit, clip.insertion, clip.retention, hold,
                blunter=f"the arms that let the axle in bend too far for {clip.material}: {cure}", softer=cure,
                firmer=cure)


def _cure(plan: WagonPlan, description: Description) -> str:
    """Name the first opening of the axle's clip with which it would be right, or what else it hangs on."""
    if isinstance(plan.gear.clip, PinCups):
        return _pins_cure(plan, plan.gear.clip)
    for share in SHARES:
        printer = description.printer.model_copy(update={"snap_share": share})
        context = context_of(plan.wagon, description.model_copy(update={"printer": printer}))
        clip = running_gear.resolve(context, plan.coupling).clip
        if (clip.insertion <= THUMB and clip.retention >= least_hold(plan.wheelset)
                and clip.strain <= PLASTICS[clip.material].permissible(ONCE)):
            return f"set printer.snap_share to {share}"
    if least_hold(plan.wheelset) > LEAST_HOLD:
        clip = plan.gear.clip
        return f"choose wheelsets of {down(THUMB * clip.retention / clip.insertion / WEIGHTS / GRAVITY)} g or less"
    return f"print lines up to {down(0.8 * description.printer.line_width, 2)} mm wide"


def _pins_cure(plan: WagonPlan, cups: PinCups) -> str:
    """Name the wheelsets that cups hold which a thumb still opens; where they hold none, what has no such cheeks."""
    held = min(THUMB * cups.retention / cups.insertion, cups.retention)
    if held >= LEAST_HOLD and least_hold(plan.wheelset) > LEAST_HOLD:
        return f"choose wheelsets of {down(held / WEIGHTS / GRAVITY)} g or less"
    stiffer = f"print in {STIFFEST}, or " if cups.material != STIFFEST else ""
    return f'{stiffer}choose smaller wheels, or axles with ends = "plain"'


def _lid(plan: WagonPlan, clips: LidClips) -> Snap:
    clip = clips.clip
    longer = f"make the body {up(2 * (clips.least_arm - clip.arm))} mm wider or longer"
    return Snap(
        plan.part_id("lid-clip"), clip.strain, clips.permissible, clips.insertion, clips.retention, LEAST_HOLD,
        blunter=f"the lid's clips bend too sharply for {clip.material}: {longer}{_tougher(clip.material, OFTEN)}",
        softer=longer, firmer=f"print lines up to {clip.thickness / 2 * 1.1:.2f} mm wide")


def _insert(who: PartId, ring: InsertPlan) -> Snap:
    limit = PLASTICS[ring.material].permissible(OFTEN)
    return Snap(
        who, ring.strain, limit, ring.pinch, ring.retention, LEAST_HOLD,
        blunter=f"its ring bends too sharply for {ring.material}: choose a cup "
                f"{up(2 * ring.thick * (1 - limit / ring.strain))} mm wider{_tougher(ring.material, OFTEN)}",
        softer=f"choose a cup {up(2 * ring.thick * (1 - (THUMB / ring.pinch)**(1 / 3)))} mm wider",
        firmer=f"choose a cup {up(2 * ring.thick * ((LEAST_HOLD / ring.retention)**(1 / 3) - 1))} mm slimmer")


def _tougher(material: str, share: float) -> str:
    """Name a tougher material, where there is one."""
    stands = PLASTICS[TOUGHER].permissible(share)
    return f", or in {TOUGHER}, which stands {stands:.1%}" if PLASTICS[material].permissible(share) < stands else ""
