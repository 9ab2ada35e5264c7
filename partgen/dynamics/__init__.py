"""What acts on the train: load states, liquids, ramps, pull, stability, speeds, laps, markers."""
