"""Which end of a wagon, of its body and of its cradle goes first, by what can be seen of each."""

from collections.abc import Iterator

from partgen.plan.body.mounts import held
from partgen.plan.deck.handles import handle_of
from partgen.plan.wagon import WagonPlan

OFF_MIDDLE = 5.0        # mm: what lies nearer to the middle shows no end to the eye
ACROSS = {"front": "back", "back": "front", "left": "right", "right": "left"}
SHOWS = {"bosses": "bosses", "strap": "strap's slots", "tape": "line on the floor", "lip": "lips"}
"""What the empty body has for a module, by how that is held."""


def front_of(plan: WagonPlan) -> str:
    """Say which end of a wagon goes first."""
    sides = {handle.side for handle in map(handle_of, plan.deck) if handle}
    turned = f", the cups turned so that their handles are on its {min(sides)}, seen from behind" if len(
        sides) == 1 else ""
    return front_without_cups(plan) or front_of_cradle(plan) or f"either end{turned}"


def front_without_cups(plan: WagonPlan) -> str:
    """Say which end of a wagon goes first before its cradle is on; "" where both ends are alike."""
    return next(_seen(plan), "")


def _seen(plan: WagonPlan) -> Iterator[str]:
    """Yield what shows a wagon's front, the plainest first."""
    yield from _opened(plan)
    if plan.hung:
        yield ("the end on whose side the sensor holder's lug has its single notch, "
               f"{plan.length / 2 - plan.hung[0].way.x:.0f} mm from the sensor's middle")
    if plan.frame.bolsters:
        yield "the end over the bogie that does not roll from side to side"
    if len(plan.coupling.front.marks) == 1:
        yield f"the drawbar marked {plan.coupling.front.marks[0]}"
    yield from (f"the end {_to(one.x)} {one.name}, under its lid" for one in plan.layout.placed
                if abs(one.x) > OFF_MIDDLE)


def front_of_body(plan: WagonPlan) -> str:
    """Say which end of the empty body is its front; "" where both ends are alike."""
    yet = (f"the end {_to(one.x)} the {SHOWS[held(one)]} for {one.name}" for one in plan.layout.placed
           if abs(one.x) > OFF_MIDDLE and held(one) in SHOWS and one.on is None)
    return next(_opened(plan), "") or next(yet, "")


def front_of_frame(plan: WagonPlan) -> str:
    """Say which end of the frame is its front; "" where both ends are alike."""
    return "the end on whose side the lug under it has its single notch" if plan.hung else (
        "the end with the broad pad" if plan.frame.bolsters else "")


def front_of_cradle(plan: WagonPlan) -> str:
    """Say which end of the cradle is its front; "" where it looks the same turned half round."""
    seats = [(seat.x, seat.y, seat.cup, cup.label) for seat, cup in plan.cups]
    here = {(round(x, 1) + 0.0, round(y, 1) + 0.0, name) for x, y, name, _ in seats}
    odd = [(x, y, label) for x, y, name, label in seats if (round(-x, 1) + 0.0, round(-y, 1) + 0.0, name) not in here]
    if not odd:
        return ""
    x, y, label = max(odd, key=lambda seat: (round(abs(seat[0]), 1), seat[0]))
    if abs(x) > OFF_MIDDLE:
        return f"the end {_to(x)} the seat for the {label}"
    return f"the seat for the {label} is on its {'left' if y > 0 else 'right'}, seen from behind"


def _opened(plan: WagonPlan) -> Iterator[str]:
    """Yield the openings that one wall has and the wall across has not, those in an end first."""
    walls = {(cutout.wall, cutout.name) for cutout in plan.layout.cutouts}
    alone = {wall: name for wall, name in sorted(walls) if wall in ACROSS and (ACROSS[wall], name) not in walls}
    yield from (f"the end {'with' if wall == 'front' else 'away from'} the opening of {alone[wall]}"
                for wall in ("front", "back") if wall in alone)
    yield from (f"the opening of {alone[wall]} is on its {wall} side, seen from behind"
                for wall in ("right", "left") if wall in alone)


def _to(x: float) -> str:
    return "nearer to" if x > 0 else "further from"
