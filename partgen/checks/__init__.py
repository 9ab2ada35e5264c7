"""The checks: each takes plans, and meshes where it needs them, and returns findings.

`paper.PAPER_CHECKS` needs no solid and answers in milliseconds; `solid.SOLID_CHECKS` needs meshes and
imports trimesh, which is why the two registries stand in two files.
"""
