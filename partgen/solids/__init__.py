"""From a kernel's shape to closed meshes: the built train, sections, overlap."""
