"""Cables: a way for each, slack that neither pulls nor drags, conductors and a supply that give what is asked."""

from collections.abc import Iterator
from math import inf

from partgen.dynamics.cables import Hop, carried, laid, lost, motor, running, standing, starting
from partgen.dynamics.survey import path_of, place
from partgen.finding import Finding, judge, up
from partgen.formulas.wire import fuse
from partgen.identity import CableId, TrainId
from partgen.plan.cable_ways import eye, way
from partgen.plan.cables import Led, Run, room
from partgen.plan.running_gear.cable_lane import FEWEST
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

OVER_RAILS = 3.0        # mm that slack stays over the rails: it swings (common practice, no source)
MOST_LOST = 0.05        # of the voltage: a port's range of 4.75 to 5.25 V


def wire_way(train: TrainPlan) -> Iterator[Finding]:
    """Hold the way of every cable through end walls and under frames against what has to pass: what is over of it, in
    whichever of width and height less is."""
    for plan in train.asked:
        for led in plan.cables.led:
            yield _through_wall(plan, led)
        for run in plan.cables.passing:
            yield _under_frame(plan, run)


def _through_wall(plan: WagonPlan, led: Led) -> Finding:
    """Hold the way through an end wall, all of its cables in it."""
    found, wished = way(plan, led.wall), room(plan.cables.through(led.wall))
    sizes = (found.width, found.height) if found else (0.0, 0.0)
    spare = min(have - want for have, want in zip(sizes, wished, strict=True))
    tied = found is None or eye(plan, led.wall) is not None
    who, (wide, high) = CableId(led.number, plan.who), wished
    wall = f"the {led.wall} wall has"
    reason = (f"{led.plugged} asks for a way of {wide:.1f} x {high:.1f} mm, and {wall} room for {sizes[0]:.1f} x "
              f"{sizes[1]:.1f} mm" if tied else f"{wall} no room for the eye of a tie")
    return judge("wire-way", who, spare if tied else -1.0, 0.0, "min", "mm", reason)


def _under_frame(plan: WagonPlan, run: Run) -> Finding:
    """Hold the room beside the wheels and the ribs to tie to."""
    lane, who = plan.frame.lane, CableId(run.number, plan.who)
    assert lane is not None, "the plan has one wherever a cable passes"
    if len(lane.eyes) < FEWEST:
        return judge("wire-way", who, min(lane.spare, -1.0), 0.0, "min", "mm",
                     f"its frame has {len(lane.eyes)} ribs that a tie goes round, {FEWEST} hold a cable")
    return judge("wire-way", who, lane.spare, 0.0, "min", "mm",
                 f"cables {lane.wide:.1f} mm wide pass under its frame, and between wheels and edge there are "
                 f"{lane.wide + lane.spare:.1f} mm: {up(-lane.spare)} mm are missing on each side")


def wire_slack(train: TrainPlan) -> Iterator[Finding]:
    """Hold the lowest that a cable can hang over a coupling, long enough for the widest place of the plan, against the
    rails."""
    for one in laid(train):
        for hop in one.hops:
            if not train.only or any(map(hop.who.concerns, train.only)):
                yield judge("wire-slack", CableId(one.run.number, coupling=hop.who), hop.lowest, OVER_RAILS, "min",
                            "mm", _hangs(hop, train))


def _hangs(hop: Hop, train: TrainPlan) -> str:
    if not (hop.near and hop.far):
        return "no coupled pair goes round this track, so that no length is right"
    path = path_of(train.description.track)
    near, far = (f"{one.value:.1f} mm {place(path, one.station)}" for one in (hop.near, hop.far))
    return (f"its ways come within {near} and stand {far} apart: long enough for that, it hangs down to "
            f"{hop.lowest:.1f} mm over the rails")


def wire_load(train: TrainPlan) -> Iterator[Finding]:
    """Hold what every cable loses [V] against what it may, and what its wires carry [A] against what runs through them
    for longer than a start; where all of the train's current does, against the fuse that this asks for."""
    description = train.description
    for one in laid(train):
        who, current, volts = CableId(one.run.number), carried(one.run, description), description.supply.load_voltage
        yield judge("wire-load", who, lost(one, description), MOST_LOST * volts, "max", "V",
                    f"{one.run.said} over {one.length:.0f} mm lose {lost(one, description):.2f} V of {volts:g} V at "
                    f"{current:.2f} A")
        own = one.run.cable.current
        lasting = fuse(running(description), inf) or inf if own is None else own
        why = f"the fuse for {running(description):.2f} A is one of {lasting:g} A" if own is None else f"{own:g} A run"
        yield judge("wire-load", who, lasting, one.run.carries, "max", "A",
                    f"{why}, and each wire of {one.run.said} carries {one.run.carries:.2f} A")


def supply(train: TrainPlan) -> Iterator[Finding]:
    """Hold what all take as the train starts against what the supply gives, and what they take at a stop against the
    least at which it stays on."""
    description = train.description
    if not description.cable:
        return
    given, most = description.supply, starting(description)
    limit = given.current_limit
    how = f"limited to {limit:g} A" if limit else "at standstill ten times its running current"
    yield judge("supply", TrainId(), most, given.most_current, "max", "A",
                f"{running(description):.2f} A run, of which the motor takes {motor(description):.2f} A and, {how}, "
                f"{most:.2f} A come together as it starts: the supply gives {given.most_current:g} A")
    yield judge("supply", TrainId(), standing(description), given.least_current, "min", "A",
                f"at a stop all else takes {standing(description):.2f} A, and the supply switches itself off under "
                f"{given.least_current:g} A: a power bank that stays on, or a small lamp beside the motor")
