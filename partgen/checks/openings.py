"""Openings in a body's walls: tops that a printer bridges, clear of screws' heads and of each other, panels as thick
as what snaps into them asks."""

from collections.abc import Iterator
from math import floor

from partgen.describe.printer_tables import LONGEST_BRIDGE
from partgen.finding import Finding, judge
from partgen.identity import ModulesId
from partgen.plan.body.opening import FLUTE_OFF, beside_flutes
from partgen.plan.outline import between
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

PANEL_OFF = 0.15        # mm that a panel may be off: makers state ranges of half a millimetre (from memory)


def opening(train: TrainPlan) -> Iterator[Finding]:
    """Hold the level top of every opening against the longest bridge, its place against the ways of screws' heads in a
    thick wall and against whatever else is cut into its wall, and every panel against what it must be."""
    bridge = train.description.printer.bridge
    for plan in train.asked:
        yield from _land(train, plan)
        for one in plan.body.fittings.openings:
            who = ModulesId(plan.name, one.names) if one.names else plan.who
            level, corner = max((hole.level, hole.corner) for hole in one.holes)
            top = (f"is round above, over {level:.1f} mm too level to carry itself" if corner else
                   f"has a level top of {level:.1f} mm, no wall is over it for slopes")
            yield judge("opening", who, level, LONGEST_BRIDGE, "max", "mm", f"an opening {top}, and the printer "
                        f"bridges {bridge:g} mm level: print it slowly with full cooling",
                        warn_within=LONGEST_BRIDGE - bridge,
                        note=f"over the {bridge:g} mm that the printer bridges" if level > bridge else "")
            if plan.body.flute:
                beside = beside_flutes(plan.body, one.wall, one.along, one.width)
                yield judge("opening", who, beside, FLUTE_OFF, "min", "mm", "an opening reaches into the way of a "
                            "screw's head down the thick wall, and would not print there: a wall up to "
                            f"{floor(10 * (plan.body.wall - plan.body.flute)) / 10:g} mm thick has no such way")
            if one.panel:
                stays = plan.body.wall - one.thinned
                yield judge("opening", who, abs(stays - one.panel), PANEL_OFF, "max", "mm",
                            f"it snaps into {one.panel:g} mm and the wall is {stays:.2f} mm")


def _land(train: TrainPlan, plan: WagonPlan) -> Iterator[Finding]:
    """Hold what stays of a wall between two cuts of which one is an opening, where least stays."""
    body, limit = plan.body, train.description.printer.thinnest_wall
    openings = [("another opening", one.wall, one.cut, one.names) for one in body.fittings.openings]
    cuts = [*openings, *((*cut, ()) for cut in body.fittings.cuts(body))]
    lands = [(between(one, other), wall, what, names + beside)
             for k, (_, wall, one, names) in enumerate(openings)
             for what, side, other, beside in cuts[k + 1:] if side == wall]
    if lands:
        land, wall, what, names = min(lands)
        who = ModulesId(plan.name, tuple(dict.fromkeys(names))) if names else plan.who
        stays = f"only {land:.2f} mm of wall stay" if land > 0 else "no wall stays"
        yield judge("opening", who, land, limit, "min", "mm", f"{stays} between an opening in the {wall} wall, with "
                    f"what is thinned round it, and {what}; two printed lines are {limit:g} mm")
