"""What tests of whole trains use of the package, imported in one place: it is all that a command goes through."""

from partgen.checks.on_plan import run as findings
from partgen.cli import main
from partgen.describe.description import KINDS
from partgen.describe.load import loads
from partgen.describe.turned import cut_off, turned_moments
from partgen.dynamics.ride import resolve as ride
from partgen.dynamics.survey import path_of
from partgen.errors import DescriptionError
from partgen.plan.train import resolve

__all__ = ["KINDS", "DescriptionError", "built", "checked", "cut_off", "findings", "laid", "loads", "main", "resolve",
           "resolved", "ridden", "turned_moments"]


def resolved(text):
    """Return the plan of the train that TOML `text` describes."""
    return resolve(loads(text))


def checked(text, only=None):
    """Return the findings of every paper check, or of those in `only`, of the train that TOML `text` describes."""
    return findings(resolved(text), only=only)


def laid(text):
    """Return the pieces (length [mm], curvature [1/mm], positive to the left) of the track that TOML `text` describes,
    of the one that is made up where it describes none."""
    return [(piece.length, piece.curvature) for piece in path_of(loads(text).track).pieces]


def ridden(train):
    """Return the ride of a train plan."""
    return ride(train)


def built(train):
    """Return (part, (size [mm], volume [mm3], surface [mm2], middle [mm])) of every part of a train plan, and all
    findings on its solids."""
    from partgen.checks import on_solids
    from partgen.kept import Store
    from partgen.pipeline import workshop
    made, _ = workshop.make(train, Store())
    parts = sorted((f"{wagon}/{item}", (mesh.extents.tolist(), mesh.volume, mesh.area, mesh.center_mass.tolist()))
                   for (wagon, item), mesh in made.meshes.items())
    return parts, on_solids.run(made)
