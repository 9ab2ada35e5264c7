"""Have the cups' handles room where their seats turn them: beside other cups, for a hand, and over the body's walls."""

from collections.abc import Iterator

from partgen.finding import Finding, judge
from partgen.identity import SeatId
from partgen.plan.deck.handles import HAND, MOST, Handle, handle_of, room
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan


def handle_room(train: TrainPlan) -> Iterator[Finding]:
    """Hold the free width beside the handle of each kind of cup, on its better side and where there is least, against
    what two fingers need."""
    for plan in train.asked:
        found: dict[SeatId, float] = {}
        for place, served in enumerate(plan.deck):
            handle, who = handle_of(served), SeatId(plan.name, served[0].cup)
            if handle:
                found[who] = min(found.get(who, MOST), room(place, plan.deck), -_through_wall(plan, handle))
        for who, free in found.items():
            said = (f"{free:.1f} mm are free beside a handle, two fingers need {HAND:g} mm" if free >= 0 else
                    f"a handle is {-free:.1f} mm too far into what stands beside it")
            yield judge("handle-room", who, free, HAND, "min", "mm",
                        f"{said}: set the cups in other columns, take one off, or lower the body's walls")


def _through_wall(plan: WagonPlan, handle: Handle) -> float:
    """Return how far [mm] a handle reaches into a wall that stands higher than where it begins; below 0 where none."""
    body = plan.body
    if not plan.laid_in or body.top <= plan.deck_z + handle.low:
        return -MOST
    return handle.over(body.length - 2 * body.wall, body.width - 2 * body.wall)
