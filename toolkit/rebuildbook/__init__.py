"""Rebuild engineering worksheets for reciprocating positive-displacement pumps."""

__version__ = "0.1.0"
