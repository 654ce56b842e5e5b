"""Studies of one box in many variants: size, mass, fit and strength of each."""
