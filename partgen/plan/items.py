"""The printed parts of a wagon with their places, and what each reaches sideways."""

from partgen.identity import stems
from partgen.plan.item import Item, Place
from partgen.plan.outline import Outline, circle, rounded_rectangle


def items_of(running, coupling, under, box, lid, hung, cradle, inserts):
    """Yield every printed part with its places in the wagon."""
    yield from running.items()
    yield Item("frame", "frame", under, (Place(),))
    pivot = under.seats[0].x
    ends = [(coupling.front, Place(pivot, 0.0, coupling.height)),
            (coupling.rear, Place(-pivot, 0.0, coupling.height, 180.0))]
    for name, bars in _drawbars(ends):
        yield Item("coupler", name, bars[0][0], tuple(place for _, place in bars))
    top = coupling.height + coupling.front.thickness / 2 - coupling.front.cover_depth
    middle = coupling.front.reach - coupling.front.skin - coupling.front.cover_length / 2
    yield Item("coupler-cover", "coupler-cover", coupling.cover,
               (Place(pivot + middle, 0.0, top), Place(-pivot - middle, 0.0, top, 180.0)))
    yield Item("body", "body", box, (Place(),))
    if lid:
        yield Item("lid", "lid", lid, (Place(),))
        level = lid.bottom - lid.latching.middle
        yield Item("lid-clip", "lid-clip", lid.latching.clip,
                   tuple(Place(socket.x, socket.y, level, socket.yaw) for socket in lid.latching.sockets))
    for number, one in enumerate(hung, 1):
        name = "sensor-holder" if len(hung) == 1 else f"sensor-holder-{number}"
        yield Item("sensor-holder", name, one.chute, (Place(one.window.x, one.window.y, one.bottom),))
    if cradle:
        yield Item("cradle", "cradle", cradle, (Place(),))
        names = stems((f"insert {insert.cup} \0in {insert.seat}" for insert in inserts), "insert")
        for insert, name in zip(inserts, names.values(), strict=True):
            deck = cradle.bottom + cradle.plate
            yield Item("insert", name, insert,
                       tuple(Place(seat.x, seat.y, deck) for seat in cradle.seats if seat.cup == insert.seat), loose=True)


def _drawbars(ends):
    """Group the two ends by their plan: one name when both are alike, one each when they are not."""
    if ends[0][0] == ends[1][0]:
        return [("coupler", ends)]
    return [(f"coupler-{bar.marks[0].lower()}", [(bar, place)]) for bar, place in ends]


def outlines_of(under, box, lid, cradle, cups, coupling, inserts=()):
    """Yield what each part reaches sideways, for the throw."""
    yield _plate("frame", under.bottom, under.top, under.length, under.width, under.corner)
    yield _plate("body", box.bottom, box.top, box.length, box.width, box.corner)
    yield _plate("coupler", coupling.lowest, coupling.height + coupling.front.thickness / 2,
                         2 * (under.seats[0].x + coupling.front.reach), coupling.front.head_width, 1.0)
    if lid:
        yield _plate("lid", lid.lowest, lid.top, lid.length, lid.width, lid.corner)
    if cradle:
        yield _plate("cradle", cradle.bottom, cradle.bottom + cradle.plate, cradle.length, cradle.width,
                             cradle.corner)
        yield from _standing(cradle, cups)
        yield from _in_inserts(cradle, inserts)


def _plate(part, low, high, length, width, corner) -> Outline:
    return Outline(part, low, high, rounded_rectangle(length, width, corner))


def _standing(cradle, cups):
    deck_z = cradle.bottom + cradle.plate
    for seat, cup in cups:
        yield Outline("cradle", deck_z, deck_z + seat.hold, circle(seat.outer_diameter, seat.x, seat.y))
        yield Outline("cup", deck_z, deck_z + cup.height, circle(cup.widest, seat.x, seat.y))


def _in_inserts(cradle, inserts):
    """Yield what further cups and their inserts' ears reach."""
    deck_z = cradle.bottom + cradle.plate
    for insert, cup in inserts:
        for seat in [seat for seat in cradle.seats if seat.cup == insert.seat]:
            yield Outline("cup", deck_z, deck_z + cup.height, circle(cup.widest, seat.x, seat.y))
            if insert.ear:
                wide = insert.slit / 2 + insert.ear
                yield Outline("insert", deck_z + insert.ear_foot, deck_z + insert.height,
                              ((seat.x + wide, seat.y), (seat.x + wide, seat.y + insert.ear_reach),
                               (seat.x - wide, seat.y + insert.ear_reach), (seat.x - wide, seat.y)))
