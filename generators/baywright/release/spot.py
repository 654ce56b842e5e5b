"""Where a part's number may stand: on the seen face, clear of holes and edges, off every bonded region."""

import numpy as np
from numpy.typing import NDArray

from baywright.piece.assembly import Assembly
from baywright.piece.numbering import Part
from baywright.piece.plate import Plate
from baywright.shape.loop import SAME, Loop, bounds, mapped, polygon

_CLEAR = 3.0  # mm kept between a mark and an edge or hole: a scriber or a laser's spot wanders less
_STEP = 4.0  # mm: places are tried on this grid


def bonded_regions(part: Part, assembly: Assembly) -> list[Loop]:
    """Return the regions (n, 3) mm of a plate's seen face that any of its occurrences has glued, in its own x-y."""
    plate = part.piece
    assert isinstance(plate, Plate)
    stands = dict(part.occurrences)
    found = []
    for bond in assembly.bonds:
        for mark, height, outward in ((bond.first, 0.0, 1.0), (bond.second, bond.thickness, -1.0)):
            if mark not in stands:
                continue
            here = stands[mark].inverse().after(bond.pose)
            normal = here.turn[:, 2] * outward
            face = float(here(np.array([0.0, 0.0, height]))[2])
            if normal[2] > 1 - 1e-9 and abs(face - plate.thickness) < SAME:
                found.append(mapped(bond.region, here.turn[:2, :2], (float(here.shift[0]), float(here.shift[1]))))
    return found


def free_spot(
    plate: Plate, taken: list[Loop], sizes: list[tuple[float, float]]
) -> tuple[int, float, float, float] | None:
    """Return where a mark fits: (which size, x, y of its lower left corner in mm, angle in degrees), or None.

    Sizes are tried in turn, level before upright; of the places that fit, the lowest, then the leftmost wins.

    Args:
        plate: the plate.
        taken: loops of its seen face that must stay free, mm.
        sizes: (width, height) mm, the most wanted first.
    """
    import shapely

    room = shapely.Polygon(polygon(plate.outline)).buffer(-_CLEAR)
    blocks = [shapely.Polygon(polygon(h.loop)).buffer(_CLEAR) for h in plate.holes]
    blocks += [shapely.Polygon(polygon(loop)).buffer(SAME) for loop in taken]
    room = room.difference(shapely.union_all(blocks)) if blocks else room
    if room.is_empty:
        return None
    shapely.prepare(room)
    x0, y0, x1, y1 = bounds(plate.outline)
    for index, (wide, high) in enumerate(sizes):
        for angle, (w, h) in ((0.0, (wide, high)), (90.0, (high, wide))):
            across: NDArray[np.float64] = np.arange(x0 + _CLEAR, x1 - _CLEAR - w + SAME, _STEP)
            up: NDArray[np.float64] = np.arange(y0 + _CLEAR, y1 - _CLEAR - h + SAME, _STEP)
            if not len(across) or not len(up):
                continue
            for y in up.tolist():  # row by row from below: the first that fits ends it
                fits = np.flatnonzero(shapely.contains(room, shapely.box(across, y, across + w, y + h)))
                if len(fits):
                    x = float(across[fits[0]])
                    return index, (x + w if angle else x), y, angle
    return None
