"""The car: weight and balance, pack electrics, range, performance, splitting modules between bays."""
