"""Random plans of track: open and closed, with reverse curves and S bends, and what lies along them."""

from math import radians, sin, tan

OTHER = {"left": "right", "right": "left"}


def laid(dice, radius, size, closed=None, second=None, obstacles=None, crossing=False) -> dict:
    """Return plan, stops, obstacles and second track for a smallest `radius` and a gauge of `size` [mm].

    closed, second, obstacles: whether there are any; None leaves it to chance. crossing: a figure of eight.
    """
    table: dict = {}
    if crossing:
        table, second = {"plan": _eight(dice, radius, size), "closed": True}, False
    elif dice.chance(0.4) if closed is None else closed:
        table |= {"plan": _loop(dice, radius), "closed": True}
    elif dice.chance(0.7):
        table["plan"] = _line(dice, radius, dice.random.randint(1, 9))
    length = sum(piece.get("times", 1) * _way(piece) for piece in table.get("plan", ()))
    if table and dice.chance(0.5):
        table["stop"] = [{"name": dice.words(40), "station": dice.between(0, length * 0.999, 1)}
                         for _ in range(dice.random.randint(1, 4))]
    if dice.chance(0.3) if obstacles is None else obstacles:
        table["obstacle"] = [_obstacle(dice, length or 6 * radius, size) for _ in range(dice.random.randint(1, 3))]
    least, most = max(20, 2.2 * size), min(1000, radius - 2.2 * size)
    if least < most and (dice.chance(0.2) if second is None else second):
        table["spacing"] = dice.between(min(1.5 * least, most), most, 1)
        table["spacing_side"] = dice.one_of("left", "right")
    return table


def _way(piece) -> float:
    """Return the length [mm] of a piece of track."""
    return piece["length"] if piece["go"] in ("straight", "crossing") else piece["radius"] * radians(piece["angle"])


def _line(dice, radius, count) -> list[dict]:
    """Return pieces of track in a row: straights, curves, reverse curves, S bends with nothing between."""
    pieces: list[dict] = []
    while len(pieces) < count:
        kind = dice.random.random()
        curve = {"go": dice.one_of("left", "right"), "radius": _curve(dice, radius),
                 "angle": dice.one_of(7.5, 11.25, 15, 22.5, 30, 45, 60, 90)}
        if kind < 0.35:
            pieces.append({"go": "straight", "length": dice.spread(10, 6 * radius, 1)})
        elif kind < 0.6:
            pieces += [curve, {**curve, "go": OTHER[curve["go"]]}]
        else:
            pieces.append({**curve, "times": dice.random.randint(2, 3)} if dice.chance(0.3) else curve)
    return pieces


def _loop(dice, radius) -> list[dict]:
    """Return a plan that closes: what turns by the nth part of a full turn, laid n times over, comes back."""
    count, hand, curve = dice.one_of(2, 2, 3, 4), dice.one_of("left", "right"), _curve(dice, radius)
    part = [{"go": "straight", "length": dice.spread(50, 5 * radius, 1)}]
    if dice.chance(0.4):        # a bay: out by an angle and back by it
        bay = dice.one_of(15, 30, 45)
        part += [{"go": OTHER[hand], "radius": curve, "angle": bay}, {"go": hand, "radius": curve, "angle": bay}]
    part.append({"go": hand, "radius": curve, "angle": 180 / count, "times": 2})
    if dice.chance(0.3):
        part.append({"go": "straight", "length": dice.spread(20, 2 * radius, 1)})
    return part * count


def _eight(dice, radius, size) -> list[dict]:
    """Return a figure of eight: two loops of half a turn and the crossing's angle each, one to either hand, whose
    tangents of R cot(angle / 2) meet in the crossing's middle."""
    angle, curve, hand = dice.one_of(30, 45, 60, 75, 90), _curve(dice, radius), dice.one_of("left", "right")
    length, gap = 2.2 * size / sin(radians(angle)), size * dice.between(0.08, 0.12) / sin(radians(angle))
    cross = {"go": "crossing", "length": round(length, 1), "angle": angle, "gap": round(gap, 2)}
    if dice.chance(0.3):
        cross["flangeway"] = dice.between(0.03 * size, 0.08 * size)
    leg = {"go": "straight", "length": curve / tan(radians(angle) / 2) - cross["length"] / 2}
    turns = [{"go": way, "radius": curve, "angle": 90 + angle / 2, "times": 2} for way in (hand, OTHER[hand])]
    return [piece for turn in turns for piece in (leg, cross, leg, turn)]


def _curve(dice, radius) -> float:
    """Return a radius [mm]: often the smallest, and none under it."""
    return radius if dice.chance(0.6) else dice.spread(radius, min(100000, 5 * radius), 1)


def _obstacle(dice, length, size) -> dict:
    low = dice.one_of(-50, 0, 20, 60)
    thing = {"name": dice.words(40), "station": dice.between(0, length, 1), "side": dice.one_of("left", "right"),
             "distance": dice.between(2 * size + 40, 4 * size + 200, 1), "low": low,
             "high": low + dice.between(5, 400, 0)}
    return thing | ({"length": dice.between(0, length / 2, 1)} if dice.chance(0.4) else {})
