"""Every dimension and position of a train resolved in plain Python, without CAD."""
