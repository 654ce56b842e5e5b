"""Loads, and whether the metal of a finished design holds them: load paths, members, bonds, verdicts, sheets."""
