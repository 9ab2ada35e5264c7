"""What is fastened holds: enough thread in plastic and nuts, no screw through to the other side, mounts that fit."""

from collections.abc import Callable, Iterator

from partgen.describe.wording import path_text
from partgen.finding import Finding, Sense, apart, judge, up
from partgen.identity import ModulesId
from partgen.plan.body.layout import Placed
from partgen.plan.body.mounts import STRAP, TRAVEL, held, slide, tape_under
from partgen.plan.body.orientation import TAPE
from partgen.plan.fasteners import Fastener, fasteners
from partgen.plan.fastening import STRAP_DEEP, board_screw
from partgen.plan.hardware import least_spare
from partgen.plan.item import Beside
from partgen.plan.outline import between
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

HOLE_EASE = 0.1         # of a board's hole beyond the thread
HEAD_LAP = 0.4          # of a head beyond the hole, both sides together
TAPED = 5.7             # mm2 of foam tape for each gram: 4 square inches a pound (from memory, makers of such tape)


def grip(train: TrainPlan) -> Iterator[Finding]:
    """Hold the thread of the worst screw of every kind against what must hold, and its end within its hole."""
    plans: tuple[WagonPlan | Beside, ...] = (*train.asked, *train.beside)
    for plan in plans:
        screws = fasteners(plan)
        for what in dict.fromkeys(one.what for one in screws):
            kind = [one for one in screws if one.what == what]
            weak, deep = min(kind, key=lambda one: one.thread - one.least), min(kind, key=_room)
            thread, least = apart(weak.thread, weak.least)
            yield judge("grip", plan.part_id(what), weak.thread, weak.least, "min", "mm",
                        f"{weak.screw.name} holds by {thread} mm of thread where {least} mm should")
            yield judge("grip", plan.part_id(what), deep.spare, least_spare(deep.length), "min", "mm",
                        f"{deep.screw.name} x {deep.length} mm, as long as it may be, comes {up(-_room(deep))} mm too "
                        "far")


def _room(one: Fastener) -> float:
    return one.spare - least_spare(one.length)


def mount_fit(train: TrainPlan) -> Iterator[Finding]:
    """Hold what every module asks of its mount: a screw that passes its holes with a head that covers them, a strap
    that lies on it, tape enough for its mass, a tray that it does not slide in, and ground under it at all."""
    for plan in train.asked:
        found = [_mounted(one, plan) for one in plan.layout.placed]
        found.sort(key=lambda finding: (finding.verdict == "pass", finding.margin))
        yield from {finding.subject: finding for finding in reversed(found)}.values()


def _mounted(one: Placed, plan: WagonPlan) -> Finding:
    value, limit, sense, unit, told = MOUNTS[held(one)](one, plan)
    return judge("mount-fit", ModulesId(plan.name, (one.name,)), value, limit, sense, unit,
                 f"{path_text('module', one.name)} {told}")


Asked = tuple[float, float, Sense, str, str]
"""Value, limit, sense and unit as in `judge`, and what is wrong."""


def _bosses(one: Placed, plan: WagonPlan) -> Asked:
    hole, screw = one.module.hole, board_screw(one.module)
    if hole < screw.thread + HOLE_EASE:
        return hole, screw.thread + HOLE_EASE, "min", "mm", (
            f"has holes of {hole:g} mm that no {screw.name} passes, as it would those drilled to "
            f"{screw.thread + HOLE_EASE:g} mm")
    return hole, screw.head - HEAD_LAP, "max", "mm", (
        f"has holes of {hole:g} mm that the head of {screw.name}, {screw.head:g} mm wide, does not cover")


def _strap(one: Placed, plan: WagonPlan) -> Asked:
    long, body = one.width if one.straps_along else one.length, plan.body
    if long < STRAP:
        return long, STRAP, "min", "mm", f"is {up(STRAP - long)} mm shorter than its strap is wide"
    (strap, *_), half = [strap for strap in body.fittings.straps if (strap.x, strap.y) == (one.x, one.y)], body.cone / 2
    holes = [*(other.cut for other in body.fittings.straps if other is not strap), *(lead.spans for lead in body.leads),
             *(((x - half, x + half), (y - half, y + half)) for x, y in body.screws)]
    beside = min(inside / 2 - max(map(abs, span)) for inside, span in zip(body.inside, strap.cut, strict=False))
    if beside < 0:
        return beside, 0.0, "min", "mm", f"has its strap's way {up(-beside)} mm in a wall"
    stays = body.floor - STRAP_DEEP
    apart = min(between(strap.cut, hole) for hole in holes)
    return apart, stays, "min", "mm", (
        f"has its strap's way {up(stays - apart)} mm too near another hole in the floor")


def _tape(one: Placed, plan: WagonPlan) -> Asked:
    pad, need = tape_under(one), one.module.mass * TAPED
    area = pad.length * pad.width
    return area, need, "min", "mm2", (
        f"hangs on {need - area:.0f} mm2 of tape too few")


def _lip(one: Placed, plan: WagonPlan) -> Asked:
    free = max(slide(one, plan.layout.placed, plan.body.fittings.lips, plan.body).values())
    return free, TRAVEL, "max", "mm", f"can slide {up(free)} mm in its tray"


def _panel(one: Placed, plan: WagonPlan) -> Asked:
    panel = max(opening.panel for opening in one.module.looks_out)
    return plan.body.wall, panel, "min", "mm", f"snaps into {panel:g} mm where the wall is {plan.body.wall:g} mm"


def _nothing(one: Placed, plan: WagonPlan) -> Asked:
    return one.z, TAPE, "max", "mm", (
        f"stands {one.z:g} mm over the floor for its plug below, and its {one.module.mount} does not reach it beyond "
        f"{TAPE:g} mm")


MOUNTS: dict[str, Callable[[Placed, WagonPlan], Asked]] = {
    "bosses": _bosses, "strap": _strap, "tape": _tape, "lip": _lip, "panel": _panel,
    "": _nothing}
"""What is asked of each kind of mount."""
