"""How each part is mounted, in words and as what its step's picture shows; `parts.PARTS` has the steps in order."""
