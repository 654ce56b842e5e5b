"""Geometry without a kernel: loops, profiles, poses, mass properties."""
