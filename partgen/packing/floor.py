"""What the floor asks of a model: windows through it, stretches taken for something else, and its area."""

from partgen.packing.grid import down, up


def windows(model, place, box):
    """A window has its middle at the station, and lies in its strip and clear of every blind zone."""
    space, cp = model.task.space, model.cp
    for stand, literal in zip(model.grid.stands[place], box.chosen):
        if stand.pose.window is None:
            continue
        x, y = (tuple(at + line for line in (down(low), up(high)))
                for at, (low, high) in zip(box.at, stand.pose.window))
        # Twice the middle against twice the station; where a wish falls between two grid lines, either does.
        cp.add(x[0] + x[1] >= 2 * down(space.station[0])).only_enforce_if(literal)
        cp.add(x[0] + x[1] <= 2 * up(space.station[1])).only_enforce_if(literal)
        cp.add(y[0] >= down(space.strip[0])).only_enforce_if(literal)
        cp.add(y[1] <= up(space.strip[1])).only_enforce_if(literal)
        for zone in space.blind:
            _clear(model, x, y, zone, literal)


def off_taken(model, box):
    """A box on the floor stands clear of every zone that is taken."""
    for zone in model.task.space.taken:
        sides = [(at, at + size) for at, size in zip(box.at[:2], box.size)]
        _clear(model, *sides, zone, *([] if box.upper is None else [~box.upper]))


def area(model):
    """Boxes on the floor with half their border each side cover no more than the floor; implied, but a help."""
    grid, cp = model.grid, model.cp
    least, walls = min(grid.border), [min(s.wall[k] for stands in grid.stands for s in stands) for k in range(4)]
    covered = []
    for stands, box in zip(grid.stands, model.boxes):
        areas = [(stand.size[0] + least) * (stand.size[1] + least) for stand in stands]
        if box.upper is None:
            covered += [size * literal for size, literal in zip(areas, box.chosen)]
            continue
        share = cp.new_int_var(0, max(areas), "area")
        for size, literal in zip(areas, box.chosen):
            cp.add(share >= size).only_enforce_if(literal, ~box.upper)
        covered.append(share)
    across = 2 * grid.width[1] - walls[2] - walls[3] + least
    cp.add(sum(covered) <= across * (2 * model.half[0] - walls[0] - walls[1] + least))


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
