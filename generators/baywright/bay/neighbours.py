"""What else the job puts in a bay: other boxes; motor and rails, as far as torque and road move them."""

from collections.abc import Mapping

import numpy as np

from baywright.bay.outside import outer_bodies
from baywright.bay.skin import Skin, joined, of_bodies
from baywright.box.generate import BoxDesign
from baywright.rail.design import RailDesign


def boxes_beside(boxes: Mapping[str, BoxDesign], bay: str, but: str = "") -> tuple[Skin, ...]:
    """Return the skins of the boxes in a bay.

    Args:
        boxes: the job's, by name.
        bay: its name.
        but: the box that is asked about.
    """
    return tuple(
        of_bodies(outer_bodies(box), box.pose, name=f"box '{name}'")
        for name, box in boxes.items()
        if name != but and box.layout.ask.bay == bay
    )


def rails_beside(rails: Mapping[str, RailDesign], bay: str) -> tuple[Skin, ...]:
    """Return the skins of the rails, by name, that stand in a bay."""
    return tuple(rails_skin(name, made) for name, made in rails.items() if made.ask.bay == bay)


def rails_skin(name: str, made: RailDesign) -> Skin:
    """Return motor and rails as the space that they sweep: each body's hull at rest and in every load case.

    How far each case moves them, the motor's roll under its torque first of all, is the rails' own reckoning.
    """
    import manifold3d

    from baywright.rail.clear import moved
    from baywright.rail.stress import solve

    solved = solve(made)
    parts = []
    for item in made.assembly.placed:
        if not item.piece.bodies():
            continue  # what is bonded on another counts as part of it
        points = of_bodies([(item.mark, b) for b in item.piece.bodies()], item.pose).vertices
        every = np.concatenate([points[None], points + moved(solved, points)]).reshape(-1, 3)
        raw = manifold3d.Manifold.hull_points(every).to_mesh64()
        vertices = np.asarray(raw.vert_properties)[:, :3].astype(float)
        parts.append(Skin(made.pose(vertices), np.asarray(raw.tri_verts).astype(np.int64)))
    whole = joined(parts)
    return Skin(whole.vertices, whole.faces, 0.0, f"rails '{name}' and motor, rocking")
