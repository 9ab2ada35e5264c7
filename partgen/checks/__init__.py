"""The checks: each takes plans, and meshes where it needs them, and returns findings.

`on_plan.PLAN_CHECKS` needs no solid and answers in milliseconds; `on_solids.SOLID_CHECKS` needs meshes and
imports trimesh, which is why the two registries stand in two files.
"""

from collections.abc import Callable
from typing import Any, TypeVar

Check = TypeVar("Check", bound=Callable[..., Any])


def by_id(*checks: Check) -> dict[str, Check]:
    """Return check functions by the id of their findings: the function's name, with hyphens."""
    return {check.__name__.replace("_", "-"): check for check in checks}
