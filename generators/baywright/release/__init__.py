"""Everything written: cut files, solids, lists, pictures, and the folder they leave in."""
