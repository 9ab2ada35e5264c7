"""The name plates on the wagons' sides: lettered large enough to print and be read."""

from partgen.finding import judge
from partgen.plan.body.nameplate import SHALLOWEST
from partgen.plan.train import TrainPlan


def name_plate(train: TrainPlan):
    """Hold the height of every plate's capitals against what two printed lines a stroke and open letters take.

    Where the wall is too thin to sink letters into, its spare thickness is held against their least relief.
    """
    for plan in train.wagons:
        plate = plan.body.nameplate
        if plate and plate.relief < SHALLOWEST - 1e-9:
            yield judge("name-plate", plan.who, plate.relief, SHALLOWEST, "min", "mm", plate.remedy)
        elif plate:
            yield judge("name-plate", plan.who, plate.letter, plate.least, "min", "mm", plate.remedy)
