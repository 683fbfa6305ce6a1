"""Figures: one function each, results in, a matplotlib Figure out."""
