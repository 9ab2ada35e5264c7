"""Files that leave the house: complete or not at all, and the same bytes for the same input."""
