"""What the floor asks of a model: windows through it, and stretches taken for something else."""

from partgen.packing.grid import down, up


def windows(model, place, box):
    """A window has its middle at the station, and lies in its strip and clear of every blind zone."""
    space, cp = model.task.space, model.cp
    for stand, literal in zip(model.grid.stands[place], box.chosen):
        if stand.pose.window is None:
            continue
        x, y = (tuple(at + line for line in (down(low), up(high)))
                for at, (low, high) in zip(box.at, stand.pose.window))
        if space.station is not None and "station" not in model.task.aims:
            # Where a wish falls between two grid lines, either does.
            cp.add(x[0] + x[1] >= 2 * down(space.station)).only_enforce_if(literal)
            cp.add(x[0] + x[1] <= 2 * up(space.station)).only_enforce_if(literal)
        model.windows.append((literal, x[0] + x[1]))
        cp.add(y[0] >= down(space.strip[0])).only_enforce_if(literal)
        cp.add(y[1] <= up(space.strip[1])).only_enforce_if(literal)
        for zone in space.blind:
            _clear(model, x, y, zone, literal)


def off_taken(model, box):
    """A box on the floor stands clear of every zone that is taken."""
    for zone in model.task.space.taken:
        sides = [(at, at + size) for at, size in zip(box.at[:2], box.size)]
        _clear(model, *sides, zone, *([] if box.upper is None else [~box.upper]))


def _clear(model, x, y, zone, *literals):
    """Where all `literals` hold, keep the rectangle `x`, `y` off a zone."""
    cp = model.cp
    ends = [line + zone.end * model.half[0] for line in (down(zone.x[0]), up(zone.x[1]))]
    ways = [(x[1], ends[0]), (ends[1], x[0]), (y[1], down(zone.y[0])), (up(zone.y[1]), y[0])]
    clear = []
    for before, after in ways:
        way = cp.new_bool_var("clear of zone")
        cp.add(before <= after).only_enforce_if(way)
        clear.append(way)
    cp.add_bool_or(clear).only_enforce_if(*literals) if literals else cp.add_bool_or(clear)
