"""The record of what was done: entries, the ledger that keeps them, forms that bring them in."""
