"""What the floor asks: windows through it, and stretches that are taken for something else."""

from partgen.packing.grid import down, up


def on_floor(task, puts, half: int) -> bool:
    """Do the boxes put on the floor, in a body of half length `half`, have their windows and feet where they may?"""
    space = task.space
    for put in puts:
        if put.stand.pose.window:
            x, y = _lines(put.at, put.stand.pose.window)
            if not (_at_station(space, x) and down(space.strip[0]) <= y[0] and y[1] <= up(space.strip[1])
                    and all(_off(x, y, zone, half) for zone in space.blind)):
                return False
        feet = [_lines(put.at, foot) for foot in put.stand.pose.feet if put.on is None]
        if not all(_off(*foot, zone, half) for foot in feet for zone in space.taken):
            return False
    return True


def _lines(at, rectangle):
    """Return the grid lines that enclose a rectangle given from a box's corner `at`."""
    return tuple((line + down(low), line + up(high)) for line, (low, high) in zip(at, rectangle))


def _at_station(space, x) -> bool:
    return space.station is None or 2 * down(space.station) <= x[0] + x[1] <= 2 * up(space.station)


def _off(x, y, zone, half: int) -> bool:
    (start, stop), across = _zone(zone, half)
    return x[1] <= start or x[0] >= stop or y[1] <= across[0] or y[0] >= across[1]


def _zone(zone, half):
    """Return from where to where a zone reaches along x and y in grid lines; `half` may be an expression."""
    ends = [line + zone.end * half for line in (down(zone.x[0]), up(zone.x[1]))]
    return ends, (down(zone.y[0]), up(zone.y[1]))


def windows(model, place, box):
    """A window has its middle at the station, and lies in its strip and clear of every blind zone."""
    space, cp = model.task.space, model.cp
    for stand, literal in zip(model.grid.stands[place], box.chosen):
        if stand.pose.window is None:
            continue
        x, y = _lines(box.at, stand.pose.window)
        if space.station is not None and "station" not in model.task.aims:
            # Where a wish falls between two grid lines, either does.
            cp.add(x[0] + x[1] >= 2 * down(space.station)).only_enforce_if(literal)
            cp.add(x[0] + x[1] <= 2 * up(space.station)).only_enforce_if(literal)
        model.windows.append((literal, x[0] + x[1]))
        cp.add(y[0] >= down(space.strip[0])).only_enforce_if(literal)
        cp.add(y[1] <= up(space.strip[1])).only_enforce_if(literal)
        for zone in space.blind:
            _clear(model, x, y, zone, literal)


def off_taken(model, place, box):
    """The feet of a box on the floor stand clear of every zone that is taken."""
    standing = [] if box.upper is None else [~box.upper]
    for stand, literal in zip(model.grid.stands[place], box.chosen):
        for foot in stand.pose.feet:
            for zone in model.task.space.taken:
                _clear(model, *_lines(box.at, foot), zone, literal, *standing)


def _clear(model, x, y, zone, *literals):
    """Where all `literals` hold, keep the rectangle `x`, `y` off a zone."""
    cp = model.cp
    ends, across = _zone(zone, model.half[0])
    ways = [(x[1], ends[0]), (ends[1], x[0]), (y[1], across[0]), (across[1], y[0])]
    clear = []
    for before, after in ways:
        way = cp.new_bool_var("clear of zone")
        cp.add(before <= after).only_enforce_if(way)
        clear.append(way)
    cp.add_bool_or(clear).only_enforce_if(*literals)
