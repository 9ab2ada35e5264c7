"""The checks: each takes plans, and meshes where it needs them, and returns findings.

`on_plan.PLAN_CHECKS` needs no solid and answers in milliseconds; `on_solids.SOLID_CHECKS` needs meshes and
imports trimesh, which is why the two registries stand in two files.
"""
