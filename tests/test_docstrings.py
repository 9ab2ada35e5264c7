"""Every public formula carries its datasheet: a unit for each argument, a worked example, a source."""

import doctest
import importlib
import inspect
import pkgutil
import re

import pytest

import partgen.formulas

# Words a bracket may hold, products by spaces or *, quotients by /, powers by a digit; 1 is a pure number.
UNITS = frozenset("1 - % mm cm m g kg s ms min h rad deg N mN T mT Pa kPa MPa GPa J W Wh V A Ah mAh "
                  "Hz K degC uL mL ml l ft in str bool".split())


def public_formulas():
    """Every public function defined in a module of partgen.formulas, by its dotted name."""
    found = {}
    for entry in pkgutil.walk_packages(partgen.formulas.__path__, "partgen.formulas."):
        module = importlib.import_module(entry.name)
        for name, function in inspect.getmembers(module, inspect.isfunction):
            if function.__module__ == module.__name__ and not name.startswith("_"):
                found[f"{entry.name.removeprefix('partgen.formulas.')}.{name}"] = function
    return found


def is_unit(text):
    return all(re.sub(r"(?<=[A-Za-z])\^?-?\d$", "", word) in UNITS for word in re.split(r"\s*[ */]\s*", text))


def entry_of(name, doc):
    """What a docstring says of one argument: the line it opens, and the deeper lines that follow."""
    lines = doc.splitlines()
    for number, line in enumerate(lines):
        opening = re.match(r"(\s*)(\w+(?:, \w+)*)\b(.*)", line)
        if opening and name in opening[2].split(", "):
            indent = len(opening[1])
            deeper = [opening[3]]
            for after in lines[number + 1:]:
                if len(after) - len(after.lstrip()) <= indent:
                    break
                deeper.append(after)
            return " ".join(deeper)
    return ""


def faults_of_doctests(function, doc):
    """Complaints about the worked examples: none there, or wrong ones."""
    names = {**function.__globals__, function.__name__: function}
    examples = doctest.DocTestParser().get_doctest(doc, names, function.__name__, None, None)
    if not examples.examples:
        return ["has no worked example"]
    said = []
    doctest.DocTestRunner(verbose=False).run(examples, out=said.append)
    return ["worked example fails:\n" + "".join(said)] if said else []


def faults(function):
    """Everything that a function's docstring lacks."""
    doc = inspect.getdoc(function) or ""
    said = [f"argument {name} has no [unit]" for name in inspect.signature(function).parameters
            if not any(is_unit(text) for text in re.findall(r"\[([^\]]+)\]", entry_of(name, doc)))]
    if not re.search(r"^Source: \S", doc, flags=re.MULTILINE):
        said.append('has no "Source:" line')
    return said + faults_of_doctests(function, doc)


FORMULAS = public_formulas()


def test_formulas_are_found():
    assert {"wheel.attack_angle", "slosh.omega", "plastic.bore"} <= set(FORMULAS)
    assert not [name for name in FORMULAS if "._" in name]


@pytest.mark.parametrize("name", FORMULAS)
def test_formula_carries_its_datasheet(name):
    said = faults(FORMULAS[name])
    assert not said, f"partgen.formulas.{name}: " + "; ".join(said)


# ---- the test itself can fail: one function for each rule that it breaches, and one that breaches none


def _sound(side, turn):
    """Twice a side.

    side, turn: a length [mm] and, on the next
        line, an angle [rad]

    >>> _sound(2, 0)
    4

    Source: made up for this test.
    """
    return 2 * side


def _unit_missing(side, turn):
    """Twice a side.

    side: a length [mm]
    turn: an angle in radians, within [0, pi]

    >>> _unit_missing(2, 0)
    4

    Source: made up for this test.
    """
    return 2 * side


def _argument_missing(side, turn):
    """Twice a side [mm]; the turn is spoken of but has no entry: turn [rad].

    side: a length [mm]

    >>> _argument_missing(2, 0)
    4

    Source: made up for this test.
    """
    return 2 * side


def _source_missing(side):
    """Twice a side.

    side: a length [mm]; its Source: is not on a line of its own

    >>> _source_missing(2)
    4

    Source:
    """
    return 2 * side


def _example_missing(side):
    """Twice a side.

    side: a length [mm]

    Source: made up for this test.
    """
    return 2 * side


def _example_wrong(side):
    """Twice a side.

    side: a length [mm]

    >>> _example_wrong(2)
    5

    Source: made up for this test.
    """
    return 2 * side


def _example_raises(side):
    """Twice a side.

    side: a length [mm]

    >>> _example_raises()
    4

    Source: made up for this test.
    """
    return 2 * side


def _bare(side):
    return 2 * side


@pytest.mark.parametrize("function, wanted", [
    (_sound, []),
    (_unit_missing, ["argument turn has no [unit]"]),
    (_argument_missing, ["argument turn has no [unit]"]),
    (_source_missing, ['has no "Source:" line']),
    (_example_missing, ["has no worked example"]),
    (_example_wrong, ["worked example fails"]),
    (_example_raises, ["worked example fails"]),
    (_bare, ["argument side has no [unit]", 'has no "Source:" line', "has no worked example"]),
])
def test_each_breach_is_told(function, wanted):
    assert [fault.split(":\n")[0] for fault in faults(function)] == wanted


@pytest.mark.parametrize("text, unit", [
    ("mm", True), ("mm/s2", True), ("g mm2", True), ("N/mm^2", True), ("1", True), ("1/s", True), ("-", True),
    ("0, pi", False), ("n", False), ("mm, at most 3", False), ("", False), ("lengths", False)])
def test_what_counts_as_a_unit(text, unit):
    assert is_unit(text) is unit
