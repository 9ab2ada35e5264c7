"""The map of the house: who may import whom. Imports point only downward; rooms on one floor never meet."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest
from conftest import bare

PACKAGE = Path(__file__).parents[1] / "partgen"

FLOORS = [
    ("errors", "identity", "scratch"),
    ("finding", "files", "interrupts"),
    ("kept",),
    ("formulas", "describe", "packing", "lettering"),
    ("motion",),
    ("plan",),
    ("dynamics", "parts"),
    ("solids",),
    ("printing",),
    ("paper",),
    ("checks",),
    ("remedies",),
    ("export", "report"),
    ("pipeline",),
    ("cli",),
    ("__main__",),
]

EVERYWHERE = {"msgspec"}      # what a plan, a finding, a place is made of

LIBRARIES = {
    "errors": set(), "identity": {"anyascii"}, "interrupts": set(), "finding": set(), "files": set(), "kept": set(),
    "scratch": set(),
    "formulas": {"numpy", "scipy"},
    "describe": {"pydantic", "pydantic_core", "tomlkit"},
    "packing": {"numpy", "ortools"},
    "lettering": {"numpy", "manifold3d", "matplotlib"},
    "motion": {"numpy", "shapely"},
    "plan": {"numpy"},
    "dynamics": {"numpy"},
    "parts": {"cadquery", "OCP", "numpy"},
    "solids": {"cadquery", "OCP", "numpy", "scipy", "trimesh", "manifold3d", "shapely"},
    "printing": {"numpy", "trimesh", "manifold3d", "shapely", "embreex"},
    "paper": {"numpy", "trimesh"},
    "checks": {"numpy", "trimesh", "shapely"},
    "remedies": {"numpy"},
    "export": {"numpy", "trimesh", "cadquery", "OCP", "lib3mf", "PIL"},
    "report": {"numpy", "vtk", "vtkmodules", "matplotlib", "PIL", "jinja2", "markupsafe", "trimesh"},
    "pipeline": {"numpy", "trimesh"},
    "cli": {"click", "rich"},
    "__main__": set(),
}

FLOOR_OF = {room: floor for floor, rooms in enumerate(FLOORS) for room in rooms}


def imported(source: str):
    """Yield every module that Python source imports, wherever in the file."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert not node.level, "relative imports hide the layer: write partgen.room.file"
            yield node.module
            if node.module == "partgen":
                yield from (f"partgen.{alias.name}" for alias in node.names)


def breaches(room: str, source: str):
    """Yield in words every import that a file of `room` may not make."""
    for module in imported(source):
        head, *rest = module.split(".")
        if head == "partgen":
            other = rest[0] if rest else None
            if other in FLOOR_OF and other != room and FLOOR_OF[other] >= FLOOR_OF[room]:
                yield f"{room} (floor {FLOOR_OF[room]}) imports {module} (floor {FLOOR_OF[other]})"
        elif head not in sys.stdlib_module_names and head not in LIBRARIES[room] | EVERYWHERE:
            yield f"{room} imports the library {head}"


def files():
    for path in sorted(PACKAGE.rglob("*.py")):
        room = path.relative_to(PACKAGE).parts[0].removesuffix(".py")
        if room != "__init__":
            yield pytest.param(room, path, id=str(path.relative_to(PACKAGE)))


@pytest.mark.parametrize(("room", "path"), files())
def test_imports_point_downward(room, path):
    assert room in FLOOR_OF, f"{room} has no floor: give it one in FLOORS"
    assert not list(breaches(room, path.read_text(encoding="utf-8")))


@pytest.mark.parametrize(("room", "source"), [
    ("formulas", "from partgen.describe import load"),
    ("plan", "def f():\n    from partgen.checks import paper"),
    ("plan", "import cadquery"),
    ("describe", "from partgen import plan"),
    ("dynamics", "import partgen.parts.body"),
    ("solids", "from partgen.checks import on_solids"),
])
def test_a_breach_is_found(room, source):
    assert list(breaches(room, source))


HEAVY = ("cadquery", "OCP", "trimesh", "vtk", "vtkmodules", "matplotlib", "scipy", "ortools", "manifold3d")


def loaded(code: str) -> set[str]:
    """Run `code` in a fresh interpreter and return which heavy libraries it has loaded."""
    script = f"import sys\n{code}\nprint(*[name for name in {HEAVY} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, cwd=PACKAGE.parent)
    assert done.returncode == 0, done.stderr
    return set(done.stdout.split())


CHECK = ("from click.testing import CliRunner\nfrom partgen.cli import main\n"
         "assert CliRunner().invoke(main, ['check', 'presets/reading-room.toml', '--json']).exit_code == 0")


def test_check_loads_nothing_heavy():
    """The first check of a train may have to arrange its modules; from then on the layout is known."""
    assert loaded(CHECK) <= {"ortools"}
    assert loaded(CHECK) == set()


def test_draw_needs_no_kernel_and_no_mesh(tmp_path):
    (tmp_path / "line.toml").write_text(bare(wagon="modules = ['box']"), encoding="utf-8")
    code = (CHECK.replace("'check'", "'draw'").replace("'presets/reading-room.toml'", repr(str(tmp_path / "line.toml")))
            .replace("'--json'", f"'-o', {str(tmp_path)!r}"))
    assert loaded(code) <= {"matplotlib", "ortools"}


def test_the_probe_sees_a_heavy_import():
    assert loaded(CHECK + "\nimport trimesh") >= {"trimesh"}
