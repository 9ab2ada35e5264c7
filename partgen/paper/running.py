"""The last steps: the wagons coupled on their track, the train pushed round it by hand before it carries drinks."""

from collections.abc import Iterator

from partgen.parts.record import Bought, Step
from partgen.plan.deck.handles import handle_of
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

OFF_MIDDLE = 2.0        # mm: what lies nearer to a wagon's middle shows no end


def steps(train: TrainPlan) -> Iterator[Step]:
    """Yield what is done with the whole train once its wagons are there."""
    names = tuple(plan.name for plan in train.wagons)
    ends = ". ".join(f"Front of {plan.name}: {front_of(plan)}" for plan in train.wagons)
    leads = (" Leads from wagon to wagon are not planned here and not on the bill: they are yours to make, of soft "
             "wire, with a plug, and with slack enough that none pulls where neighbours swing.") if sum(
                 bool(plan.modules) for plan in train.wagons) > 1 else ""
    if train.wagons:
        yield _on_locomotive(train)
    yield Step("Couple the train",
               f"Set it on a straight piece of track, front first: locomotive, {', '.join(names)}. {ends}. Push "
               "neighbours together until their magnets meet. Where two push each other off, a magnet lies the wrong "
               f"way round: take that cover off and turn it.{leads}", {}, (), wagons=names, whole=True)
    tries = " Then pour cold water into the cups up to their marks and do it again." if any(
        plan.cups for plan in train.wagons) else ""
    yield Step("First run, by hand",
               "Cups empty, push the train slowly once all round the track, then pull it back, with a finger on its "
               "last wagon: every wheel stays down in curves and over joints, drawbars swing free, and nothing touches "
               f"what stands beside the track or lies between the rails.{tries} Only then let the locomotive pull it, "
               "at half the ride card's speed at first, then as the card says.", {}, (), wagons=names)


def _on_locomotive(train: TrainPlan) -> Step:
    """Return the step that gives the locomotive its half of the coupler, for which nothing is printed."""
    coupler, inset, height = train.description.coupler, train.description.train.locomotive.coupler_inset, _height(train)
    pockets, marks = train.wagons[0].coupling.front.pockets, train.wagons[0].coupling.front.marks
    where = (f"two of them side by side, their middles {pockets[0] - pockets[1]:.1f} mm apart, one as far to the left "
             f"of the middle as the other to the right: seen from behind, the right one with its {marks[0]} "
             f"outwards, the left one with its {marks[1]}") if len(pockets) > 1 else (
        "one of them in the middle, its S outwards: the first wagon's front drawbar shows N")
    return Step("Magnets on the locomotive",
                "Nothing is printed for its half of the coupler: make a bar of wood or metal that turns to both sides "
                f"under its rear end. As it was planned, the bar turns on a screw {inset:g} mm inside the body's end, "
                f"and its magnets' faces stand {coupler.gap / 2:g} mm beyond that end, their middles "
                f"{height:g} mm over the rails. The magnets are as in the drawbars, "
                f"{coupler.magnet_diameter:g} x {coupler.magnet_length:g} mm; set {where}. Hold them to the front "
                "drawbar of the first wagon before the glue sets: they must draw it. A coupler that is there "
                "already and holds magnets so may stay.", {}, ())


def _height(train: TrainPlan) -> float:
    """Return how high [mm] over the rails the locomotive's coupler stands: its own as described, else the wagons'."""
    return train.description.train.locomotive.coupler_height or train.description.coupler.height


def bought(train: TrainPlan) -> Iterator[Bought]:
    """Yield the magnets on the locomotive, and what holds them."""
    coupler = train.description.coupler
    for count in [len(plan.coupling.front.pockets) for plan in train.wagons[:1]]:
        yield Bought("magnets", count, "disc magnet, for the locomotive", f"{coupler.magnet_diameter:g} x "
                     f"{coupler.magnet_length:g} mm, {coupler.remanence:g} T", "on a bar of your own at its rear end, "
                     f"{_height(train):g} mm over the rails; not needed where its coupler has them")
        yield Bought("glue", count, "drop of glue", "two-part or thick instant glue", "at the locomotive's magnets")


def front_of(plan: WagonPlan) -> str:
    """Say which end of a wagon goes first, by what can be seen of it."""
    walls = {cutout.wall: cutout.name for cutout in plan.layout.cutouts}
    hung = next((one for one in plan.hung if abs(one.way.x) > OFF_MIDDLE), None)
    if "front" in walls or "back" in walls:
        wall = "front" if "front" in walls else "back"
        return f"the end {'with' if wall == 'front' else 'away from'} the opening of {walls[wall]}"
    if hung:
        return f"the end {'nearer to' if hung.way.x > 0 else 'further from'} the sensor under it"
    if "left" in walls or "right" in walls:
        wall = "right" if "right" in walls else "left"
        return f"the opening of {walls[wall]} is on its {wall} side, seen from behind"
    if plan.frame.bolsters:
        return "the end over the bogie that does not roll from side to side"
    if len(plan.coupling.front.marks) == 1:
        return f"the drawbar marked {plan.coupling.front.marks[0]}"
    sides = {handle.side for handle in map(handle_of, plan.deck) if handle}
    if len(sides) == 1:
        return f"the windows of the cups' seats are on its {min(sides)} side, seen from behind"
    return "either end"
