"""How the train is wired, for paper: what every wire is called and coloured, the cut list, and how cables are laid."""

from collections.abc import Iterator

from msgspec import Struct

from partgen.dynamics.cables import Laid, guard, laid
from partgen.identity import LOCOMOTIVE
from partgen.parts.record import Bought, Step
from partgen.plan.cables import Run
from partgen.plan.train import TrainPlan

COLOURS: tuple[tuple[str, str], ...] = (
    ("red", "#c8102e"), ("black", "#101010"), ("yellow", "#f0e442"), ("blue", "#0072b2"), ("grey", "#999999"),
    ("white", "#ffffff"), ("green", "#009e73"), ("orange", "#e69f00"), ("violet", "#7b3294"),
    ("light blue", "#56b4e9"), ("brown", "#7c4a22"), ("pink", "#e78ac3"))
"""Of cores in their order: neighbours differ in lightness, so that who sees no colours tells them apart as well."""


class Core(Struct, frozen=True):
    """One wire of a cable: what stands at both its ends, its colour's name and how that is drawn."""

    label: str
    colour: str
    drawn: str


def cores(run: Run) -> tuple[Core, ...]:
    """Return the wires of a cable: red is plus and black is minus where it has two or more, the others are numbered."""
    many = run.cable.cores > 1
    return tuple(Core({0: "+", 1: "-"}.get(k, str(k + 1)) if many else "1", *COLOURS[k])
                 for k in range(run.cable.cores))


def guarded(train: TrainPlan) -> str:
    """Say which fuse the supply takes; "" where no cable is described."""
    if not train.description.cable:
        return ""
    rated, limit = guard(train.description), train.description.supply.current_limit
    if not rated:
        return "no fuse guards these cables and lets the train run: `partgen check` tells"
    beside = f", the driver's current limit at {limit:g} A beside it" if limit else (
        ", and a current limit in the motor's driver beside it")
    return f"a time-lag fuse of {rated:g} A{beside}"


def cut_list(train: TrainPlan) -> Iterator[tuple[str, Bought]]:
    """Yield every cable as it is cut, and what its ends take, each with the wagon that it is first needed in."""
    for one in laid(train):
        wagon = next(end.place for end in one.run.cable.ends if not end.outside)
        yield wagon, Bought("mounts", 1, "cable, soft stranded copper",
                            f"{one.run.said}, {one.length:.0f} mm, {one.run.plugged}; {_colours(one.run)}",
                            f"{one.run.called}: {one.start} to {one.goal}")
        yield wagon, Bought("mounts", 2 * one.run.cable.cores, "end of a lead",
                            "plug, ferrule, or solder under a shrink sleeve", "no wire stays bare")


def _colours(run: Run) -> str:
    return " ".join(core.colour for core in cores(run))


def steps(train: TrainPlan) -> Iterator[Step]:
    """Yield how cables are laid from wagon to wagon, once the wagons are there and before they are coupled."""
    crossing = [one for one in laid(train) if one.hops]
    if not crossing:
        return
    said = ["Both ends of each are in their wagons already, as their steps say."]
    said += [f"Under {plan.name}: turn it over, lay {_named(plan.cables.passing)} side by side along its left edge, "
             f"and bind them with a cable tie through each of the {len(plan.frame.lane.eyes)} eyes in its ribs: they "
             "come in towards its middle at both ends." for plan in train.wagons if plan.frame.lane]
    said += [_over(one) for one in crossing]
    if any(LOCOMOTIVE in one.start or LOCOMOTIVE in one.goal for one in crossing):
        said.append("Lead the locomotive's out of its rear end in the middle, as high as it comes out of the wagon, "
                    "tie it there, and solder it to the motor; where the train then runs backwards, exchange both "
                    "wires there.")
    said.append(f"At the supply: {guarded(train)}. Put the fuse in last.")
    yield Step("Lay the cables", " ".join(said), {}, (), wagons=tuple(plan.name for plan in train.wagons),
               tools=("ruler", "side cutters"))


def _named(runs: tuple[Run, ...]) -> str:
    return " and ".join(run.called for run in runs)


def _over(one: Laid) -> str:
    """Say how long a cable is left at every coupling."""
    lengths = ", ".join(f"{hop.length:.0f} mm at {hop.who}" for hop in one.hops)
    return f"Leave {one.run.called} as long from way to way as this, however the train stands: {lengths}."
