"""What stands on top: the cradle and its inserts."""
