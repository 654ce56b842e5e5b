"""What holes leave of a bar's section."""

from dataclasses import dataclass

from baywright.mechanics.section import SectionProperties
from baywright.rail.bars import Bar


@dataclass(frozen=True, slots=True)
class Left:
    """What holes leave of a section's area and of its moments, as shares."""

    area: float
    bending: float


def left_of(bar: Bar, section: SectionProperties, u: float) -> Left:
    """Return what the holes at one place along a bar leave of its section.

    Every hole is taken out of the walls that it goes through, the shift of the neutral axis left out: within a few
    percent for holes in pairs.
    """
    t, b, h = bar.stock.wall, bar.half_v, bar.half_w
    area = about_v = about_w = 0.0
    for way, place, across, hole in bar.bolts:
        if abs(place - u) > hole / 2:
            continue
        walls = 2 if bar.stock.shape == "tube" else 1
        thick = 2 * b if bar.stock.shape == "bar" else t
        off = 0.0 if bar.stock.shape == "bar" else (b if way == "v" else h) - t / 2
        area += walls * thick * hole
        along = walls * thick * hole * off**2
        over = walls * (thick * hole**3 / 12 + thick * hole * across**2)
        about_w, about_v = (about_w + along, about_v + over) if way == "v" else (about_w + over, about_v + along)
    # ∫v² is the moment about w, ∫w² about v; which of them is the section's x follows from how it stands.
    x_is_v = abs(float(bar.pose().turn[:, 0] @ bar.v)) > 0.5
    over_v, over_w = (section.iy, section.ix) if x_is_v else (section.ix, section.iy)
    return Left(max(1 - area / section.area, 0.05), max(min(1 - about_w / over_v, 1 - about_v / over_w), 0.05))
