"""Earth straps: adhesive insulates every panel from the next, so each is linked by a braid between two screws."""

from collections import defaultdict
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.box.build import Build
from baywright.piece.assembly import LID
from baywright.piece.bought import Bought
from baywright.shape.pose import Pose

# A braid is longer than the straight way: slack for fitting, and two lugs, mm (common practice, no source).
_SLACK, _LUGS = 1.25, 20.0


@dataclass(frozen=True, eq=False)
class Strap:
    """A braid between two panels: its mark, the two panels, and the two screws' heads (3,) mm that clamp its lugs."""

    mark: str
    panels: tuple[str, str]
    ends: tuple[NDArray[np.float64], NDArray[np.float64]]


def add_straps(build: Build) -> list[Strap]:
    """Add straps that link walls, floor and lid into one, between the nearest screws that the panels have already."""
    heads: dict[str, list[tuple[NDArray[np.float64], str]]] = defaultdict(list)
    for line in build.lines:
        if line.screw is not None and line.stage in (0, LID):
            heads[line.layers[0].mark] += [(point, line.size) for point in line.points]
    wanted = [
        ("wall service", "wall right"),
        ("wall right", "wall blind"),
        ("wall blind", "wall left"),
        ("wall blind", "floor"),
        ("wall blind", "lid"),
    ]
    made = []
    rule = build.kit.style.earth_strap
    for number, (first, second) in enumerate(wanted, 1):
        a, b, size = _nearest(heads[first], heads[second])
        length = float(np.linalg.norm(a - b)) * _SLACK + _LUGS
        mark = f"earth strap {number}"
        piece = Bought(
            role="earth strap",
            name=f"braid {rule.cross_section_mm2:g} mm2 x {np.ceil(length / 10) * 10:.0f}, lugs {size}",
            mass=rule.mass_per_metre * length / 1000,
            source="computed from the style's braid",
            group="earth straps",
        )
        build.put(mark, piece, Pose(np.eye(3), (a + b) / 2))
        made.append(Strap(mark, (first, second), (a, b)))
    return made


def _nearest(
    first: list[tuple[NDArray[np.float64], str]], second: list[tuple[NDArray[np.float64], str]]
) -> tuple[NDArray[np.float64], NDArray[np.float64], str]:
    """Return the two screws' heads, one of each panel, that stand closest together, and the first's thread."""
    apart = np.linalg.norm(np.array([p for p, _ in first])[:, None] - np.array([p for p, _ in second])[None], axis=2)
    i, j = np.unravel_index(int(np.argmin(apart)), apart.shape)
    return first[i][0], second[j][0], first[i][1]
