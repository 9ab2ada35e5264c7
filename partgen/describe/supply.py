"""What feeds the train: cells, converter and what was measured behind it."""

from partgen.describe.field import Table, number


class Supply(Table):
    """The battery and its converter, for the run time."""

    capacity: float = number(
        "mAh", 10, 100000, "capacity of the battery, printed on it", default=2000.0,
        why="a coin cell has less, a car more", measure="printed on the power bank or cell")
    cells: int = number("cells", 1, 24, "cells in series; a power bank counts as one", default=1,
                        why="24 in series are no toy", measure="count them")
    cell_voltage: float = number(
        "V", 0.8, 4.5, "voltage of one cell at which its capacity is counted", default=3.7,
        why="a tired dry cell has 0.8, a full lithium cell 4.2", measure="power bank 3.7, dry cell 1.2")
    efficiency: float = number(
        "Wh/Wh", 0.3, 1, "share of the energy that leaves the converter; 1: no converter", default=0.8,
        why="a converter below that burns", measure="not known: keep 0.8")
    load_voltage: float = number("V", 1, 60, "voltage behind the converter", default=5.0,
                                 why="over 60 V is no toy", measure="multimeter")
    load_current: float = number(
        "A", 0.01, 20, "mean current behind the converter while the train runs", default=1.0,
        why="over 20 A the wires glow", measure="multimeter in line, over one lap with full cups")
