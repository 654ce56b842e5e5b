"""Drawings: dimensioned sheets of pieces and assemblies, as PDF and SVG."""
