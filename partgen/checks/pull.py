"""Is the train pulled: magnets and locomotive against what the start takes, and couplers that let go in
time."""

from math import inf, sqrt

from partgen.checks.search import smallest
from partgen.checks.survey import LOCOMOTIVE
from partgen.describe.faults import limits
from partgen.describe.coupler import Coupler
from partgen.finding import judge, up
from partgen.formulas.magnet import DERATING, pull
from partgen.formulas.traction import weight
from partgen.plan.pull import grip, magnet_pull, own_resistance, pulls
from partgen.plan.mass import centre, loads
from partgen.plan.train import TrainPlan

MOST = limits(Coupler.model_fields["remanence"])[1]
WIDEST = limits(Coupler.model_fields["magnet_diameter"])[1]
MORE = 1.02             # wider magnets make a heavier coupler
MOST_GRIP = 0.6         # N/N: rubber tyres on clean rails (common practice, no source)


def coupler_pull(train: TrainPlan):
    """Hold what the magnets of every coupling pull, derated, against what the start takes behind it; and what
    may pull at a wagon that is stuck against what lifts its rear axle."""
    coupler, safety = train.description.coupler, train.description.ride.pull_safety
    names = [LOCOMOTIVE, *(plan.name for plan in train.wagons)]
    for front, plan, needed in zip(names, train.wagons, pulls(train)):
        value, limit = DERATING * magnet_pull(coupler, plan.coupling.front), safety * needed
        cure = _stronger(coupler, plan, limit) if value < limit else ""
        yield judge("coupler-pull", f"{front} + {plan.name}", value, limit, "min", "N",
                    f"the magnets hold {value:.2f} N and the start takes {needed:.2f} N: {cure}take "
                    f"{up(100 * (1 - value / limit), 0)} % of the mass off behind it")
    yield _break_away(train)


def _stronger(coupler, plan, force) -> str:
    """Return the remedy of a stronger magnet that pulls with `force` [N], derated; none where none is made."""
    bar = plan.coupling.front
    remanence = coupler.remanence * sqrt(force / (DERATING * magnet_pull(coupler, bar)))
    if remanence <= MOST:
        return f"choose magnets of coupler.remanence {up(remanence, 2)} T, or "

    def enough(halves):
        wider = pull(coupler.remanence, halves / 4, coupler.magnet_length, 2 * bar.skin)
        return len(bar.pockets) * DERATING * float(wider) >= MORE * force

    halves = smallest(int(2 * coupler.magnet_diameter), int(2 * WIDEST), enough)
    return f"choose magnets {halves / 2:g} mm in diameter, or " if halves else ""


def _break_away(train):
    """Judge the wagon that a pull at coupler height lifts most easily: what reaches it is the couplers' whole
    pull or the locomotive's, whichever gives way first."""
    material = train.description.printer.material
    found = []
    for plan in train.asked:
        empty = centre([load for load in loads(plan, material) if load.kind not in ("cup", "liquid")])[0]
        lifting = float(weight(empty)) * plan.base / 2 / plan.coupling.height
        reaching = min(magnet_pull(train.description.coupler, plan.coupling.front), grip(train))
        found.append(judge("coupler-pull", f"{plan.name}/break-away", reaching, lifting, "max", "N",
                           f"stuck, it is pulled with up to {reaching:.2f} N before a coupler opens or the locomotive "
                           f"slips, and {lifting:.2f} N lift it off its rear axle: put "
                           f"{up(empty * (reaching / lifting - 1), 0)} g into it, or choose weaker magnets"))
    return min(found, key=lambda finding: finding.margin)


def adhesion(train: TrainPlan):
    """Hold what the locomotive's wheels can pull before they slip against what the start of the whole train
    takes."""
    ride, loco = train.description.ride, train.description.train.locomotive
    behind, own = float(pulls(train)[0]), own_resistance(train)
    value, limit = grip(train), ride.pull_safety * (behind + own * loco.mass)
    spare = value / loco.mass - ride.pull_safety * own
    heavier = ride.pull_safety * behind / spare if spare > 0 else inf
    cures = [f"weigh the locomotive down to {up(heavier, 0)} g" if heavier < inf else "",
             f"give its wheels an adhesion of {up(loco.adhesion * limit / value, 2)} (rubber tyres have about "
             f"{MOST_GRIP:g})"]
    yield judge("adhesion", LOCOMOTIVE, value, limit, "min", "N",
                f"its wheels slip at {value:.2f} N and the start takes {behind + own * loco.mass:.2f} N: "
                + ", or ".join(cure for cure in cures if cure))
