"""Nothing stands in the package for nobody: every function, class, constant and method is reached from its edges.

What only tests use belongs beside them, what nobody uses goes. Names are followed through the source, never run:
from the commands and from what runs as a module is loaded, over every name that a definition mentions.
"""

import ast
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "partgen"

ALLOWED: dict[str, str] = {     # definition: why it stays though nothing in the package reaches it
    "partgen.cli.shell.Shell.invoke": "called by click",
    "partgen.describe.field.Table.model_config": "read by pydantic",
    "partgen.describe.cup_table.Cup.model_post_init": "called by pydantic",
    "partgen.describe.cargo_tables.Module._by_touch": "called by pydantic",
    "partgen.describe.description.Description._told_apart": "called by pydantic",
    "partgen.printing.pose.Advice.planned": "what its words are made of, beside `better`; tests hold both to judges",
    "partgen.cli.shell.Shell.parse_args": "called by click",
    "partgen.identity.StuckId.event": "said and told by Subject, as every part of one",
    "partgen.identity.TrackPlanId.track_plan": "said and told by Subject, as every part of one",
}


class Module:
    """One file: its definitions by name, what runs as it is loaded, its commands, and what imported names mean."""

    def __init__(self, source: str):
        self.definitions: dict[str, ast.stmt] = {}
        self.loaded: list[ast.stmt] = []
        self.commands: list[str] = []
        tree = ast.parse(source)
        self.meanings = dict(imports(tree))
        for statement in tree.body:
            if not isinstance(statement, (ast.Import, ast.ImportFrom)):
                names = [name for name in defined(statement) if name != "__all__"]
                self.definitions |= dict.fromkeys(names, statement)
                self.commands += names if is_command(statement) else []
                self.loaded += [] if names else [statement]


def imports(tree: ast.Module) -> Iterator[tuple[str, str]]:
    """Yield every imported name and what it stands for, dotted, wherever in the file it is imported."""
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            yield from ((alias.asname or alias.name, f"{node.module}.{alias.name}") for alias in node.names)
        elif isinstance(node, ast.Import):
            yield from ((alias.asname, alias.name) if alias.asname else (alias.name.split(".")[0],) * 2
                        for alias in node.names)


def defined(statement: ast.stmt) -> list[str]:
    """Return the names that a statement of a module defines."""
    if isinstance(statement, (ast.FunctionDef, ast.ClassDef)):
        return [statement.name]
    targets = statement.targets if isinstance(statement, ast.Assign) else [getattr(statement, "target", None)]
    return [node.id for target in targets if target for node in ast.walk(target)
            if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store)]


def is_command(statement: ast.stmt) -> bool:
    """A function that hangs itself on the command line by its decorator."""
    return any(isinstance(mark, ast.Call) and getattr(mark.func, "attr", "") in ("command", "group")
               for mark in getattr(statement, "decorator_list", ()))


def followed(dotted: str, modules: dict[str, Module]) -> str:
    """Return what a dotted name means once every module on the way has handed on what it imported."""
    home, _, name = dotted.rpartition(".")
    if dotted in modules or home not in modules or name in modules[home].definitions:
        return dotted
    further = modules[home].meanings.get(name)
    return followed(further, modules) if further else dotted


def meant(node: ast.AST, home: str, modules: dict[str, Module]) -> str | None:
    """Return what a name, an attribute of a module, or a text such as "lid.build" in a registry that is loaded late,
    means in module `home`, dotted; None for anything else."""
    if isinstance(node, ast.Name):
        return followed(f"{home}.{node.id}", modules)
    if isinstance(node, ast.Constant):
        return f"{home}.{node.value}"
    base = meant(node.value, home, modules) if isinstance(node, ast.Attribute) else None
    return followed(f"{base}.{node.attr}", modules) if base in modules else None


def mentioned(node: ast.AST, home: str, modules: dict[str, Module]) -> Iterator[str]:
    """Yield every definition that source in module `home` mentions."""
    for inner in ast.walk(node):
        module, _, name = (meant(inner, home, modules) or "").rpartition(".")
        if module in modules and name in modules[module].definitions:
            yield f"{module}.{name}"


def unreached(sources: dict[str, str], allowed: Iterable[str] = ()) -> list[str]:
    """Return the definitions of modules, given as text by dotted name, that nothing reaches, nor what is allowed."""
    modules = {name: Module(source) for name, source in sources.items()}
    todo = [name for name in allowed if name.rpartition(".")[0] in modules]
    todo += [f"{home}.{name}" for home, module in modules.items() for name in module.commands]
    for home, module in modules.items():
        todo += [found for statement in module.loaded for found in mentioned(statement, home, modules)]
    reached: set[str] = set()
    while todo:
        definition = todo.pop()
        if definition not in reached:
            reached.add(definition)
            home, _, name = definition.rpartition(".")
            todo += mentioned(modules[home].definitions[name], home, modules)
    return [f"{home}.{name}" for home, module in modules.items() for name in module.definitions
            if f"{home}.{name}" not in reached]


def unread(sources: dict[str, str], pages: str = "") -> list[str]:
    """Return the methods, properties and fields, as "module.class.name", whose name no code reads outside themselves,
    nor any page's template."""
    trees = {name: ast.parse(source) for name, source in sources.items()}
    reads = [node for tree in trees.values() for node in ast.walk(tree)
             if isinstance(node, ast.Attribute) or isinstance(node, ast.Constant) and isinstance(node.value, str)]
    places: dict[str, set[int]] = {}
    for node in reads:
        places.setdefault(node.attr if isinstance(node, ast.Attribute) else node.value, set()).add(id(node))
    members = [(home, owner, member, name) for home, tree in trees.items() for owner in tree.body
               if isinstance(owner, ast.ClassDef) for member in owner.body for name in defined(member)]
    return [f"{home}.{owner.name}.{name}" for home, owner, member, name in members
            if not name.startswith("__") and not re.search(rf"\b{name}\b", pages)
            and not places.get(name, set()) - {id(node) for node in ast.walk(member)}]


def package() -> dict[str, str]:
    """Return the package's files as text by their dotted names."""
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        *folders, stem = path.relative_to(PACKAGE.parent).with_suffix("").parts
        found[".".join(folders if stem == "__init__" else [*folders, stem])] = path.read_text(encoding="utf-8")
    return found


def templates() -> str:
    """Return what pages are filled in from, all of it."""
    return "\n".join(path.read_text(encoding="utf-8") for path in sorted(PACKAGE.rglob("*.html")))


def test_every_definition_is_reached():
    assert unreached(package(), ALLOWED) == []


def test_every_member_is_read():
    assert [name for name in unread(package(), templates()) if name not in ALLOWED] == []


def test_what_is_allowed_is_there_and_unreached():
    assert set(ALLOWED) <= {*unreached(package()), *unread(package(), templates())}, "take it out of ALLOWED"


# ---- the test itself can fail

HOUSE = {
    "house": "ROOMS = {'low': 'cellar.kept'}",
    "house.cellar": "from math import pi\nLIMIT = 3\nSPARE = 4\ndef used(x): return _own(x) < LIMIT\n"
                    "def _own(x): return x\ndef idle(x): return idle(x - 1)\ndef kept(x): return idle(x)\n",
    "house.hall": "from house.cellar import used as wanted\nfrom house import cellar\n"
                  "class Room:\n    deep: int\n    broad: int\n    def wide(self): return self.wide()\n"
                  "    def high(self): return 2 * self.deep\n"
                  "def shown(): return Room().high(), cellar.used(1)\ndef unshown(): return wanted(2)\n",
    "house.door": "from house import hall\n@main.command()\ndef open_up(): return hall.shown()\n",
}


def test_dead_code_is_found_by_name():
    assert unreached(HOUSE) == [
        "house.ROOMS", "house.cellar.SPARE", "house.cellar.idle", "house.cellar.kept", "house.hall.unshown"]
    assert unread(HOUSE) == ["house.hall.Room.broad", "house.hall.Room.wide"]
    assert unread(HOUSE, "<p>{{ room.broad }}</p>") == ["house.hall.Room.wide"]


@pytest.mark.parametrize("door, spared", [
    ("from house.hall import unshown\n@main.command()\ndef open_up(): unshown()", "house.hall.unshown"),
    ("import house.cellar\nhouse.cellar.kept(1)", "house.cellar.idle"),
    ("from house import ROOMS\n@main.command()\ndef open_up(): ROOMS", "house.cellar.kept"),
    ("@main.command()\ndef open_up():\n    from house.cellar import SPARE as much\n    return much",
     "house.cellar.SPARE"),
])
def test_what_is_reached_in_another_way_is_none(door, spared):
    assert spared in unreached(HOUSE) and spared not in unreached(HOUSE | {"house.door": door})


def doubles(source: str) -> Iterator[str]:
    """Yield every assignment that stands word for word twice in one block of Python source."""
    for node in ast.walk(ast.parse(source)):
        body = getattr(node, "body", None)
        words = [ast.unparse(one) for one in body if isinstance(one, ast.Assign)] if isinstance(body, list) else []
        yield from (word for number, word in enumerate(words) if word in words[:number])


def test_no_assignment_stands_twice_in_one_block():
    assert list(doubles("a = 1\ndef f():\n    b = a\n    c = b\n    b = a\n")) == ["b = a"]
    assert not [(path.name, word) for path in PACKAGE.rglob("*.py") for word in doubles(path.read_text())]
