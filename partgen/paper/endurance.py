"""How long the train runs, in words, and on what."""

from partgen.describe.load import BY_DEFAULT, usual
from partgen.dynamics.ride import RidePlan


def run_time(ride: RidePlan) -> str:
    """Say how long the train runs on what its battery holds, and of what size that counts as where nobody gave it."""
    description, (hours, minutes) = ride.train.description, divmod(int(ride.endurance / 60), 60)
    supply, batteries = description.supply, [description.module[name] for wagon in description.wagon
                                             for name in wagon.modules if description.module[name].battery]
    left = {str(steps[-1]) for steps, _ in usual(description) if steps[0] == "supply"}
    dry = bool(batteries) and all(module.dry for module in batteries)
    on = (f"a battery of {supply.capacity:g} mAh at {supply.cells * supply.cell_voltage:g} V" if "capacity" in left
          else "one set of cells" if dry else "one charge")
    return (f"about {f'{hours} h ' if hours else ''}{minutes:02d} min on {on}"
            + (f" ({BY_DEFAULT})" if left else ""))
