"""One-wagon trains for the tests of bill and steps: full, on bogies, with a board on bosses."""

from conftest import bare, described

from partgen.describe.load import loads
from partgen.plan.train import resolve

BOGIE = "pivot_spacing = 150\nlength = 230"


def one(**lines):
    train = resolve(described(**lines))
    assert not train.wagons[0].wanting
    return train


def bogie():
    text = bare(wagon='modules = ["box"]\ncups = ["tea"]\n' + BOGIE)
    return resolve(loads(text.replace("wheelbase = 64", "wheelbase = 34")))


BOARD = ("[module.board]\nlength = 40\nwidth = 30\nheight = 10\nmass = 20\nmount = 'bosses'\nhole = 3.2\n"
         "holes = [[15, 11], [-15, -11]]")
FULL = {"wagon": 'modules = ["box"]\ncups = ["tea", "tea"]'}
