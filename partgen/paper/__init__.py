"""What is bought, done and minded: bill, assembly steps, order of work, plates, cautions."""
