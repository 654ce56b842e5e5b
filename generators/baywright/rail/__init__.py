"""Motor rails: from the cradle's pattern, equal for every car, to the mounts that one car has."""
