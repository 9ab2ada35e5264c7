"""The body round the modules, from floor to lid."""
