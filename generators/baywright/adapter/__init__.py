"""Adapter plates: measured and published bolt patterns, the plates between a motor and a gearbox, and their checks."""
