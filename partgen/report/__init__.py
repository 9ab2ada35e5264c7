"""What a maker reads and shows: pictures of the wagons, the ride card, the print plan, the report."""
