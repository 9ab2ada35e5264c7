"""How modules, lamps and wires go into a body, in words."""

from collections.abc import Iterator

from partgen.plan.body.layout import Placed
from partgen.plan.body.mounts import held
from partgen.plan.leads import SLACK, TERMINALS, battery_pairs, fused, joins, lamp_pairs, meeting
from partgen.plan.wagon import WagonPlan

CUT = "ruler", "side cutters", "wire strippers"     # for wires
ENDED = "every end in its plug or ferrule, or soldered under a sleeve"


def laid(plan: WagonPlan) -> str:
    """Say how every module is held, in the order in which they go in, and how cables are led; screws stand for {}."""
    fittings, placed = plan.body.fittings, plan.layout.placed
    said = [*_lamps(plan), *dict.fromkeys(_held(one, plan) for one in sorted(placed, key=lambda one: one.z))]
    said += ["{}"] if fittings.bosses else []
    if plan.layout.cutouts:
        said.append("Plugs, switches and displays face their openings.")
    lamps = [*lamp_pairs(plan)][:1]
    said += [f"Lead the lamps' wires to {pair.goal}, red to plus.{joined(plan)}" for pair in lamps]
    if wired := plan.layout.wired:
        of = dict(enumerate((one.called for one in plan.cables.joined), len(plan.wagon.wires)))
        pairs = ", ".join(f"{joins(plan, one, other)} to {joins(plan, other, one)}" + (f" ({of[k]})" if k in of else "")
                          for k, (one, other) in enumerate(wired))
        gaps = " through the gaps in the fences" if plan.body.fences else ""
        tied = ", a cable tie through the eyes of each fence" if plan.body.eyes else ""
        said.append(f"Lead a wire from {pairs}{gaps}{tied}; {ENDED}.")
    said += [f"Lead a red and a black wire from {pair.start} {'' if pair.goal == TERMINALS else 'out '}to {pair.goal}; "
             f"{ENDED}." for pair in battery_pairs(plan)]
    said += _led(plan)
    said += [f"Put the fuse into the lead from {name} to {fused(plan, name)}, next to {name}, unless its sheet says "
             "that it has one: its holder into the red wire, the fuse itself last, when no wire is bare."
             for name, module in plan.modules if module.battery]
    said += ["Try the light before the lid goes on." for _ in lamps]
    return " ".join(said)


def _led(plan: WagonPlan) -> Iterator[str]:
    """Say how cables that lead out of the wagon come in, are held and end."""
    for one in plan.cables.led:
        bare = "" if any(one.cable.plug) else ", bare, and end its wires inside"
        goal = f"{one.there.place}.{one.there.what}"
        yield (f"Bring {one.called}, from {goal}, in through the {one.wall} wall{bare}, and connect it to "
               f"{joins(plan, one.here.what, goal)} as the wiring diagram shows. Leave {SLACK:g} mm of slack inside, "
               "then bind it with a cable tie through the eye beside its way, round the wall between both: a pull ends "
               "there.")


def _lamps(plan: WagonPlan) -> Iterator[str]:
    """Say how the lamps get their wires, go in and are held, before anything is in their way."""
    if found := [*lamp_pairs(plan)]:
        yield (f"Solder a red and a black wire to each of {len(found)} lamps, red to plus, the longer leg of an LED, "
               "and insulate both joints with shrink sleeve. Push the lamps into the holes under the rim, from inside, "
               "with a drop of glue behind each. An LED that has no resistor of its own takes one in its red wire, "
               "under the sleeve, as its sheet says for that voltage.")


def joined(plan: WagonPlan) -> str:
    """Say how the wires of lights come together where more than one lead goes on from there."""
    many = meeting(plan)
    return (f" There all {many} red wires go into one terminal and all {many} black ones into another, that from the "
            "fuse with them.") if many else ""


def _held(one: Placed, plan: WagonPlan) -> str:
    """Say how one module goes in."""
    felt = sum(pad.holds == one.name and pad.what == "felt" for pad in plan.body.fittings.pads)
    if one.on is not None:
        return f"Stick {one.name} on {plan.layout.placed[one.on].name} with double-sided tape."
    return {"bosses": f"Set {one.name} on its bosses.",
            "panel": f"Push {one.name} through its opening from outside until it snaps, or tighten its nut.",
            "strap": f"Lay {one.name} in and close its strap over it.",
            "tape": f"Stick {one.name} with double-sided tape inside its line on the floor.",
            "lip": f"Stick felt on {felt} lips and press {one.name} in between." if felt else
                   f"Lay {one.name} in between what stops it.", "": f"Lay {one.name} in."}[held(one)]


def for_wires(plan: WagonPlan) -> tuple[str, ...]:
    """Return the tools that the wires of the electronics take."""
    if plan.body.fittings.lamps:
        return *CUT, "soldering iron", "solder"
    wired = plan.layout.wired or plan.cables.led or any(battery_pairs(plan))
    return (*CUT, "soldering iron or crimping pliers") if wired else ()
