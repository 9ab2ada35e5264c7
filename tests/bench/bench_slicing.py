"""What a slicing program makes of the demo's parts and plates, kept as data that `test_sliced.py` holds estimates to.

Run from the repository's root: PARTGEN_SLICER=COMMAND python tests/bench/bench_slicing.py. For every file it calls

    COMMAND MESH SETTINGS

MESH is a part's STL or a plate's 3MF as `build` writes them, SETTINGS a JSON file of the printer's table as described.
The command slices the mesh by what that says, all else as the program has it, no skirt, no brim and no heating, and
prints {"print_time_s": ..., "filament_mm": ...}. Without such a command nothing is done.
"""

import json
import os
import shlex
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import trimesh

from partgen.describe.load import load
from partgen.describe.printer_tables import Printer, Slicing

ROOT = Path(__file__).parents[2]
DEMO, FIGURES, MESHES = ROOT / "presets/reading-room.toml", ROOT / "tests/sliced.json", ROOT / "tests/sliced.npz"
COARSE = Printer(nozzle=0.6, layer=0.3, line_width=0.65, slicing=Slicing(
    perimeters=2, skins=3, infill=35, outline_speed=80, fill_speed=120, first_speed=30, travel_speed=200,
    acceleration=3000, corner_speed=12, retraction=0.05, least_layer_time=8))
MICRON = 1000           # a mesh is kept in whole thousandths of a millimetre


def sliced(command: list[str], mesh: Path, printer: Printer, folder: Path) -> dict[str, float]:
    """Return time [s] and filament [mm] that the slicing program gives."""
    settings = folder / "settings.json"
    settings.write_text(printer.model_dump_json())
    said = subprocess.run([*command, str(mesh), str(settings)], check=True, capture_output=True, text=True).stdout
    print(f"{mesh.name:<32} {said.strip()}", flush=True)
    return json.loads(said)


def main(command: list[str]) -> None:
    printer = load(DEMO).printer
    with TemporaryDirectory() as name:
        folder = Path(name)
        subprocess.run([sys.executable, "-m", "partgen", "build", str(DEMO), "--no-pictures", "-o", name], cwd=ROOT,
                       check=True, capture_output=True)
        [out] = [entry for entry in folder.iterdir() if entry.is_dir()]
        parts = sorted((out / "parts").iterdir())
        jobs = [{"printer": one.model_dump(),
                 "parts": {path.stem: sliced(command, path, one, folder) for path in parts}}
                for one in (printer, COARSE)]
        files = json.loads((out / "manifest.json").read_text())["files"]
        jobs[0]["plates"] = [{"holds": file["holds"], **sliced(command, out / file["path"], printer, folder)}
                             for file in files if file["path"].startswith("plates/")]
        keep(parts)
    FIGURES.write_text(json.dumps(jobs, indent=1) + "\n")


def keep(parts: list[Path]) -> None:
    """Keep the parts' meshes beside the figures: the demo goes on changing, what was sliced does not."""
    meshes = {path.stem: trimesh.load(path) for path in parts}
    np.savez_compressed(MESHES, **{
        f"{name} {kind}": array for name, mesh in meshes.items()
        for kind, array in (("vertices", np.round(mesh.vertices * MICRON).astype(np.int32)),
                            ("faces", mesh.faces.astype(np.uint32)))})


if __name__ == "__main__":
    if slicer := os.environ.get("PARTGEN_SLICER"):
        main(shlex.split(slicer))
    else:
        print("PARTGEN_SLICER names no command: nothing is sliced")
