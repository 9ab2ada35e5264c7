"""The manifest: what was written, from what, and with which verdict."""

import json
from collections.abc import Iterable
from hashlib import sha256
from pathlib import Path
from typing import Any

from partgen import __version__
from partgen.finding import Finding
from partgen.paper.bill import columns
from partgen.parts.record import Bought, Step

NAME = "manifest.json"
BLANK = "blank_sha256"  # in the record of a form to fill in: what it was written as
DRAWINGS = "drawings"   # the folder for them in that of a train

Record = dict[str, Any]


def record(folder: Path, path: Path, **about: Any) -> Record:
    """Return a file's line: path within `folder`, digest, size [bytes] and what else is known of it."""
    data = path.read_bytes()
    return {"path": path.relative_to(folder).as_posix(), "sha256": sha256(data).hexdigest(),
            "bytes": len(data), **about}


def earlier(folder: Path) -> Record:
    """Return the manifest of the build that `folder` holds, empty where it holds none."""
    try:
        found = json.loads((folder / NAME).read_text(encoding="utf-8"))
        ours = found["program"].startswith("partgen ") and all(isinstance(one["path"], str) for one in found["files"])
        return found if ours else {}
    except (OSError, ValueError, LookupError, TypeError, AttributeError):
        return {}


def written(before: Record) -> frozenset[str]:
    """Return the paths of all files of the build that a manifest tells of."""
    return frozenset((NAME, *(record["path"] for record in before["files"]))) if before else frozenset()


def as_text(body: Record) -> str:
    """Return a manifest as JSON text."""
    return json.dumps(body, indent=2, ensure_ascii=False) + "\n"


def drawing_manifest(title: str, file: str, digest: str, files: Iterable[Record]) -> str:
    """Return the manifest of the drawings of a train, described in a `file` of that name, as JSON text."""
    return as_text({"program": f"partgen {__version__}", "title": title, "description_file": file,
                  "description_sha256": digest, "files": list(files)})


def manifest(title: str, digest: str, findings: Iterable[Finding], files: Iterable[Record], printing: Record | None,
             bill: Iterable[Bought], steps: Iterable[Step], ride: Record, *, despite_failures: bool,
             asked: Record | None = None, kept_failed: Iterable[Record] = ()) -> str:
    """Return the manifest as JSON text; lengths in mm, masses in g. `printing` is what the print takes, and its order;
    `bill` are lines of the bill of materials, `steps` those of the assembly, `ride` the controller's figures.

    With `despite_failures` the files were written although checks failed, and the manifest says so first. Where not all
    was `asked` for it says what was, and what had failed, `kept_failed`, as files were built that stand there still.
    """
    failed = [finding.record() for finding in findings if finding.verdict == "fail"]
    failed += [one for one in kept_failed if one["check"] not in {now["check"] for now in failed}]
    body = {
        "program": f"partgen {__version__}", "title": title, "description_file": None, "description_sha256": digest,
        "verdict": "fail" if failed else "pass",
        "written_despite_failures": bool((despite_failures or kept_failed) and failed), "asked": asked,
        "failed": failed, "units": {"length": "mm", "mass": "g", "time": "s"}, "printing": printing,
        "bill_of_materials": [columns(line) for line in bill],
        "assembly": [{"title": step.title, "text": step.text, "wagons": list(step.wagons)} for step in steps],
        "ride": ride, "files": list(files), "changed": None,
    }
    return as_text(body)
