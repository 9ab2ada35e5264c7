"""Parts as plain data: shaped once, here or by workers, and from then on recalled from what was kept.

A form hangs on its part's plan and on the code and libraries that make it, on nothing else. So a build shapes only what
no build before has shaped, and whoever asks gets the same bytes.
"""

import warnings as python_warnings
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import Executor, as_completed

import numpy as np
from msgspec import Struct
from trimesh import Trimesh

from partgen import parts
from partgen.checks.printed import looked_at
from partgen.describe.printer_tables import Printer
from partgen.identity import PartId
from partgen.kept import Answers, Store
from partgen.pipeline import Progress, loading
from partgen.plan.item import Item
from partgen.plan.printed import set_for
from partgen.printing.estimate import estimated
from partgen.printing.posed import Posed
from partgen.solids.built import lay

DECIMALS = 9            # of a vertex [mm]: the kernel's last digits differ from run to run, a file's may not


class Form(Struct, frozen=True):
    """One part in its own frame: its mesh's corner points [mm] and triangles as bytes, the solid's volume [mm3], the
    solid as STEP, and what the builder warned of."""

    points: bytes
    faces: bytes
    volume: float
    step: bytes
    warnings: tuple[str, ...]

    @property
    def mesh(self) -> Trimesh:
        """The mesh [mm], each time a new one."""
        points, faces = np.frombuffer(self.points), np.frombuffer(self.faces, np.int64)
        return Trimesh(points.reshape(-1, 3).copy(), faces.reshape(-1, 3).copy(), process=False)


def form_of(item: Item, kept: Store) -> Form:
    """Return the form of an item's part. Raises KernelError where the kernel cannot make it."""
    return kept.data("parts", (item.part, item.plan), lambda: _shaped(item), Form)


def _shaped(item: Item) -> Form:
    """Draw a part's solid, mesh it and write it as STEP: all that needs the kernel."""
    with loading():
        from partgen.export.step import part_step
        from partgen.parts.shapes import PartWarning
        from partgen.solids.mesh import mesh_of, volume_of
    with python_warnings.catch_warnings(record=True) as caught:
        python_warnings.simplefilter("always", PartWarning)
        shape = parts.build(item.part, item.plan)
        mesh = mesh_of(shape)
    said = (str(entry.message) for entry in caught if issubclass(entry.category, PartWarning))
    return Form((mesh.vertices.round(DECIMALS) + 0.0).tobytes(), mesh.faces.astype(np.int64).tobytes(),
                volume_of(shape, mesh), part_step(item.part, shape, parts.record_of(item.part).colour),
                tuple(dict.fromkeys(said)))


# ---- by workers

def shaped_by(hands: Executor, items: Sequence[Item], printer: Printer, kept: Store, progress: Progress) -> None:
    """Have every item's part that is not `kept` yet shaped, judged and estimated by workers, largest first, and keep
    what they give. Raises KernelError as they do."""
    wanted = [item for item in items if not kept.holds("parts", (item.part, item.plan))]
    wanted.sort(key=lambda item: -item.plan.volume)
    pending = {hands.submit(_worked, item, printer): item for item in wanted}
    for number, done in enumerate(as_completed(pending), 1):
        kept.take(*done.result())
        progress(pending[done].part, number / len(pending))


def _worked(item: Item, printer: Printer) -> tuple[Answers, Counter[str]]:
    """Return every answer about one part that a build asks for, and how many of each kind."""
    kept = Store()
    mesh = lay(item, form_of(item, kept).mesh, printer)
    estimated(mesh, set_for(item.plan, printer), kept)
    looked_at(Posed(PartId("", item.name), mesh, printer), item.part, kept)
    return kept.here, kept.made
