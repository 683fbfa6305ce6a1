"""What-if boards over the same calculators."""
