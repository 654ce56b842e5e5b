"""Sections through an assembly: what a plane cuts, piece by piece, and every bond line in it."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from baywright.piece.bought import Bought
from baywright.piece.numbering import Part
from baywright.release.drawing.lines import Light
from baywright.shape.loop import polygon
from baywright.shape.pose import Pose


@dataclass(frozen=True, eq=False)
class Cut:
    """What a plane cuts of one thing: its rings (n, 2) mm along right and up, its mark, its part (None: a bond)."""

    mark: str
    rings: tuple[NDArray[np.float64], ...]
    part: Part | None

    @property
    def bought(self) -> bool:
        """Whether it is bought: drawn whole, not hatched."""
        return self.part is not None and isinstance(self.part.piece, Bought)


def section(subject: Light, axes: NDArray[np.float64], origin: NDArray[np.float64]) -> list[Cut]:
    """Return what the plane through `origin` square to the third row of `axes` (3, 3) cuts, in the assembly's order."""
    import manifold3d

    plane = Pose(axes, -axes @ origin)
    found = []
    solids: dict[str, Any] = {}
    for part in subject.parts:
        if part.number not in subject.shapes:
            continue
        vertices, faces = subject.shapes[part.number]
        for mark, where in part.occurrences:
            stands = plane.after(where)
            heights = vertices @ stands.turn[2] + stands.shift[2]
            if heights.min() >= 0 or heights.max() <= 0:
                continue
            if part.number not in solids:
                raw = manifold3d.Mesh64(vertices, faces.astype(np.uint64))
                solids[part.number] = manifold3d.Manifold(raw)
            rings = _slice(solids[part.number], stands)
            if rings:
                found.append(Cut(mark, rings, part))
    for bond in subject.assembly.bonds:
        stands = plane.after(bond.pose)
        body = manifold3d.CrossSection([polygon(bond.region)], manifold3d.FillRule.EvenOdd).extrude(bond.thickness)
        rings = _slice(body, stands)
        if rings:
            found.append(Cut(bond.name, rings, None))
    return found


def _slice(solid: Any, stands: Pose) -> tuple[NDArray[np.float64], ...]:
    flat = solid.transform(np.column_stack([stands.turn, stands.shift])).slice(0.0)
    return tuple(np.asarray(ring, dtype=float) for ring in flat.to_polygons())
