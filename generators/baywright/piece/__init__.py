"""Pieces and how they are joined: plates, extrusions, bought things, bonds, screw lines, assemblies."""
