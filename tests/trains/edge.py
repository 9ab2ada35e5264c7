"""What tests of whole trains use of the package, imported in one place: it is all that a command goes through."""

from partgen.checks.on_plan import run as findings
from partgen.cli import main
from partgen.describe.description import KINDS
from partgen.describe.load import loads
from partgen.errors import DescriptionError
from partgen.plan.train import resolve

__all__ = ["KINDS", "DescriptionError", "checked", "loads", "main", "resolved"]


def resolved(text):
    """Return the plan of the train that TOML `text` describes."""
    return resolve(loads(text))


def checked(text, only=None):
    """Return the findings of every paper check, or of those in `only`, of the train that TOML `text` describes."""
    return findings(resolved(text), only=only)
