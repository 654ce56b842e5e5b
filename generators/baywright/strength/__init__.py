"""Loads, and whether the metal holds: sections, beams, bolt groups, statics."""
