"""Bays: the measured space in the car, its clearances and its way in."""
