"""Calculators: pure physics on SI numbers, each formula with its source."""
