"""What holds a module down to the bearer under it."""

import math
from dataclasses import dataclass

from baywright.box.kit import LOADED_THREAD_D, Kit
from baywright.box.oriented import Oriented
from baywright.piece.bought import Bought


@dataclass(frozen=True, eq=False)
class HoldDown:
    """What holds a module down to its bearer.

    Attributes:
        piece: the screw with its washer; where no standard length reaches, a threaded rod cut to length with a nut.
        length: of the screw or rod under its washer's underside, mm.
        head: diameter and height of head or nut and washer, mm.
        engaged: depth of the tapped hole in the bearer, mm.
    """

    piece: Bought
    length: float
    head: tuple[float, float]
    engaged: float


def hold_down(kit: Kit, module: Oriented) -> HoldDown:
    """Return the hold-down of a module: a standard screw that engages 1.5 d and ends in its bearer, else a cut rod.

    What stood out below a bearer would meet the floor, or the head below.
    """
    size, style, bar = module.hold_screw, kit.style.hold_screw_head, kit.bearer.height
    d, row = kit.diameter(size), kit.size(size)
    washer = row.washer.thickness
    grip = module.seat + washer
    fits = [float(n) for n in row.lengths if grip + LOADED_THREAD_D * d <= n + 1e-9 and n <= grip + bar + 1e-9]
    if not fits:
        engaged = min(bar, LOADED_THREAD_D * d)
        rod = kit.tie_rod(size, module.seat, engaged)
        wide, high = row.nut.width * 2 / math.sqrt(3), washer + row.nut.height + 2 * row.pitch
        depth = min(bar, engaged + 2 * row.pitch)
        return HoldDown(rod, module.seat + engaged, (max(wide, row.washer.outside), high), depth)
    whole = fits[0]
    wide, high = kit.head(size, style)
    reach = whole - grip
    return HoldDown(
        kit.screw(size, style, whole, washer=True),
        whole - washer,
        (max(wide, row.washer.outside), high + washer),
        min(bar, reach + 2 * row.pitch),
    )
