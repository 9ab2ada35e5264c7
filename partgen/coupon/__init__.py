"""The coupon drawn straight as a mesh: a plate of plain prisms and lettering, for which the CAD kernel is slow."""
