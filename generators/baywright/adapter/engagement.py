"""Thread engagement: how much thread a bolt needs so that it breaks before the plate's thread strips."""

import math

from baywright.adapter.thread import Thread

# Share of the cylinder at the nominal diameter that an internal 60° thread shears over (Alexander 1977; VDI 2230 form
# with nominal diameters: π d (P/2 + (d - d2)/√3)/P = 0.875 π d).
_SHEARED = 0.875
# Careful rules for aluminium, in diameters: 1.5 (an engineering calculator), 2 (a maker's guide to thread forming).
LEAST_D, CAREFUL_D = 1.5, 2.0


def strip_area(diameter: float, engaged: float) -> float:
    """Return the area in mm² that an internal thread shears over, for a nominal diameter and an engagement in mm."""
    return _SHEARED * math.pi * diameter * engaged


def strip_load(diameter: float, engaged: float, shear_strength: float) -> float:
    """Return the load in N at which an internal thread strips.

    Args:
        diameter: nominal, mm.
        engaged: length of full thread, mm.
        shear_strength: of the tapped metal, MPa.
    """
    return strip_area(diameter, engaged) * shear_strength


def engagement_for(load: float, diameter: float, shear_strength: float) -> float:
    """Return the engagement in mm whose thread strips at `load` N, no sooner."""
    return load / (strip_area(diameter, 1.0) * shear_strength)


def least_engagement(thread: Thread, grade: str, shear_strength: float) -> float:
    """Return the engagement in mm with which a bolt of a class breaks before the plate's thread strips.

    Args:
        thread: the bolt's.
        grade: its property class.
        shear_strength: of the plate, MPa.
    """
    return engagement_for(thread.row.ultimate_load[grade], thread.diameter, shear_strength)
