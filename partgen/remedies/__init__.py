"""Changes of the description tried against the checks."""
