"""Hatching of cut metal."""

import numpy as np
from numpy.typing import NDArray

from baywright.release.drawing.paper import FINE
from baywright.shape.loop import polygon
from baywright.shape.profile import Profile


def hatch(
    shape: Profile, scale: float, shift: tuple[float, float], angle: float = 45.0, gap: float = 2.0
) -> list[NDArray[np.float64]]:
    """Return hatching lines (2, 2) mm on paper for a profile drawn at a scale from `shift`, `gap` mm apart."""
    import shapely

    area = shapely.Polygon(
        polygon(shape.outer, FINE / scale) * scale, [polygon(h, FINE / scale) * scale for h in shape.holes]
    )
    return [line + shift for line in hatched(area, angle, gap)]


def hatched(area: object, angle: float = 45.0, gap: float = 2.0) -> list[NDArray[np.float64]]:
    """Return hatching lines (2, 2) over a shapely area."""
    import shapely

    a = np.radians(angle)
    along, normal = np.array([np.cos(a), np.sin(a)]), np.array([-np.sin(a), np.cos(a)])
    corners = shapely.get_coordinates(area)
    if not len(corners):
        return []
    low, high = (corners @ normal).min(), (corners @ normal).max()
    first, last = (corners @ along).min() - 1, (corners @ along).max() + 1
    offsets = np.arange(np.ceil(low / gap) * gap + gap / 2, high, gap)
    lines = [shapely.LineString([normal * o + along * first, normal * o + along * last]) for o in offsets]
    cut = shapely.get_parts(shapely.intersection(shapely.MultiLineString(lines), area)) if lines else []
    return [shapely.get_coordinates(line) for line in cut if line.length > 0.05]
