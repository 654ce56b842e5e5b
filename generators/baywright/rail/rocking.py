"""Motor and rails in a bay: the space that they sweep as they rock, and how they clear a scan and what moves."""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from baywright.bay.gaps import least_gaps
from baywright.bay.skin import Skin, joined, of_bodies
from baywright.finding import Finding, at_least
from baywright.piece.assembly import Placed
from baywright.rail.clear import moved
from baywright.rail.design import RailDesign
from baywright.rail.stress import solve

Array = NDArray[np.float64]

_AT_MOUNT = 80.0  # mm: what a scan has within this of a mount's bolt is what the rails are bolted to


def rails_beside(rails: Mapping[str, RailDesign], bay: str) -> tuple[Skin, ...]:
    """Return the skins of the rails, by name, that stand in a bay."""
    return tuple(rails_skin(name, made) for name, made in rails.items() if made.ask.bay == bay)


def rails_skin(name: str, made: RailDesign) -> Skin:
    """Return motor and rails as the space that they sweep: each body's hull at rest and in every load case.

    How far each case moves them, the motor's roll under its torque first of all, is the rails' own reckoning.
    """
    import manifold3d

    solved = solve(made)
    parts = []
    for item in _items(made):
        points = of_bodies([(item.mark, b) for b in item.piece.bodies()], item.pose).vertices
        every = np.concatenate([points[None], points + moved(solved, points)]).reshape(-1, 3)
        raw = manifold3d.Manifold.hull_points(every).to_mesh64()
        vertices = np.asarray(raw.vert_properties)[:, :3].astype(float)
        parts.append(Skin(made.pose(vertices), np.asarray(raw.tri_verts).astype(np.int64)))
    whole = joined(parts)
    return Skin(whole.vertices, whole.faces, 0.0, f"rails '{name}' and motor, rocking")


def rails_findings(name: str, made: RailDesign, skins: Sequence[Skin], clearance: float) -> list[Finding]:
    """Return how far motor and rails are from each of some skins (a scan, what moves), what moves them taken off.

    Left out is what the skin has within 80 mm of a mount's bolt: that is what the rails are bolted to.

    Args:
        name: the rails' name.
        made: the rails.
        skins: vehicle frame.
        clearance: asked, mm.
    """
    solved = solve(made)
    mounts = made.pose(np.array([m.at for m in made.mounts]))
    found = []
    for skin in skins:
        kept = _without(skin, mounts)
        worst: tuple[float, str, tuple[float, float, float]] | None = None
        for item in _items(made) if len(kept) else ():
            for body in item.piece.bodies():
                gaps = least_gaps([(item.mark, body)], made.pose.after(item.pose), kept, close=0.0)
                if gaps.least is None:
                    continue
                points = of_bodies([(item.mark, body)], item.pose).vertices
                eaten = float(np.linalg.norm(moved(solved, points), axis=2).max())
                left = gaps.least.distance - eaten - kept.trust
                if worst is None or left < worst[0]:
                    worst = left, item.mark, gaps.least.on_skin
        found.append(_finding(name, skin, worst, clearance))
    return found


def _finding(
    name: str, skin: Skin, worst: tuple[float, str, tuple[float, float, float]] | None, clearance: float
) -> Finding:
    check, source = f"clear of {skin.name}", "the clearance that the rails ask; the rails' own load cases"
    if worst is None:
        return Finding(
            subject=f"rails {name}",
            check=check,
            verdict="pass",
            message="nothing is near but at the mounts",
            source=source,
        )
    left, mark, at = worst
    x, y, z = at
    message = (
        f"{left:.1f} mm are left from '{mark}' at X {x:.0f}, Y {y:.0f}, Z {z:.0f} mm, rocking motor and "
        f"{skin.trust:.1f} mm of doubt taken off; {clearance:g} mm asked"
    )
    if left < clearance:
        message += ": gauge that place by hand, move the motor, or take another section"
    return Finding(
        subject=f"rails {name}",
        check=check,
        verdict="pass" if left >= clearance else "look" if left + skin.trust >= clearance else "fail",
        message=message,
        value=left,
        limit=clearance,
        unit="mm",
        margin=at_least(left, clearance),
        source=source,
        where=(mark, skin.name),
        at=at,
    )


def _items(made: RailDesign) -> list[Placed]:
    return [i for i in made.assembly.placed if i.piece.bodies()]


def _without(skin: Skin, spots: Array) -> Skin:
    """Return a skin without the triangles that reach to within `_AT_MOUNT` of a spot."""
    corner = skin.vertices[skin.faces]
    near = np.zeros(len(skin), dtype=bool)
    for spot in spots:
        near |= (np.linalg.norm(corner - spot, axis=2) <= _AT_MOUNT).any(axis=1)
    return Skin(skin.vertices, skin.faces[~near], skin.trust, skin.name)
