"""Pure functions: floats or numpy arrays in and out, one file a topic."""
