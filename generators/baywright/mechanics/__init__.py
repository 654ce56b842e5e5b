"""Mechanics that know no box and no rail: sections, beams and frames, bolt groups, plates, statics of a body."""
