"""Worksheet sections: lines and findings with their sources, and how they are shown."""
