"""Where vehicles stand on a track, what they sweep, and how two of them pull each other round it."""
