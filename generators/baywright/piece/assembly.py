"""An assembly: pieces in their places, the joints that hold them, and the sums over all of it."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from baywright.piece.bought import Bought
from baywright.piece.extrusion import Extrusion
from baywright.piece.joint import Bond, Layer, ScrewLine
from baywright.piece.plate import Plate
from baywright.piece.solid import Block, Face, Hole, enclosing
from baywright.shape.loop import circle, contains, moved, rectangle, slot
from baywright.shape.mass import MassProperties, combine, prism
from baywright.shape.pose import Pose, cross, pose
from baywright.shape.profile import Profile, profile

Made = Plate | Extrusion
Piece = Plate | Extrusion | Bought

# Stages of fitting that come after every layer of modules.
LID, IN_CAR = 100, 110

# Screw axes and faces count as square, and positions as equal, within these: float noise, far below a shop's accuracy.
_SQUARE = 1e-9
_NEAR = 1e-6


@dataclass(frozen=True, eq=False)
class Placed:
    """A piece in its place.

    Attributes:
        mark: its unique name in the assembly.
        piece: what it is; equal pieces may share one object.
        pose: where it stands.
        stage: when it is fitted: 0 the bonded shell, then one number a layer of modules, LID, and IN_CAR.
    """

    mark: str
    piece: Piece
    pose: Pose
    stage: int = 0

    def blocks(self) -> list[Block]:
        """Return the axis-aligned blocks of its bodies in the assembly's frame."""
        return [enclosing(body.moved(self.pose)) for body in self.piece.bodies()]


@dataclass(frozen=True, eq=False, kw_only=True)
class Assembly:
    """Pieces, bonds and screw lines in one frame (mm)."""

    name: str
    placed: tuple[Placed, ...]
    bonds: tuple[Bond, ...] = ()
    lines: tuple[ScrewLine, ...] = ()

    @cached_property
    def by_mark(self) -> dict[str, Placed]:
        """Every placed piece by its mark."""
        return {item.mark: item for item in self.placed}

    def fasteners(self) -> list[Placed]:
        """Return every screw, washer, insert and nut in its place."""
        found = []
        for line in self.lines:
            stands = screw_pose(line)
            for number, point in enumerate(line.points, 1):
                here = Pose(stands, point)
                if line.screw is not None:
                    found.append(Placed(f"{line.name} {number}", line.screw, here, line.stage))
                for extra in line.along:
                    there = Pose(stands, point + line.direction * extra.offset)
                    mark = f"{line.name} {number} {extra.piece.role}"
                    found.append(Placed(mark, extra.piece, there, line.stage))
        return found

    def ledger(self) -> list[tuple[str, MassProperties]]:
        """Return every line that the mass is made of: pieces, fasteners, adhesive, as (mark, mass properties)."""
        lines = [(p.mark, p.piece.mass_properties().moved(p.pose)) for p in self.placed]
        for line in self.lines:
            stands = Pose(screw_pose(line), np.zeros(3))
            if line.screw is not None:
                lines.append((line.name, line.screw.mass_properties().moved(stands).copies(line.points)))
            for extra in line.along:
                points = line.points + line.direction * extra.offset
                each = extra.piece.mass_properties().moved(stands)
                lines.append((f"{line.name} {extra.piece.role}", each.copies(points)))
        lines += [(bond.name, self.bond_mass(bond)) for bond in self.bonds]
        return lines

    @cached_property
    def mass_properties(self) -> MassProperties:
        """Mass (kg), centroid (mm) and inertia (kg·mm²) of everything, in the assembly's frame."""
        return combine(properties for _, properties in self.ledger())

    @cached_property
    def _through(self) -> dict[frozenset[str], list[tuple[NDArray[np.float64], float]]]:
        """Screw points and their widest hole by the pair of pieces they join."""
        table: dict[frozenset[str], list[tuple[NDArray[np.float64], float]]] = defaultdict(list)
        for line in self.lines:
            for near, far in zip(line.layers, line.layers[1:], strict=False):
                width = max(near.diameter, far.diameter)
                table[frozenset((near.mark, far.mark))] += [(point, width) for point in line.points]
        return table

    def bond_area(self, bond: Bond) -> float:
        """Return the glued area in mm²: the region less the holes of the screws that join the same two pieces."""
        return self._glued[bond].area()

    def bond_mass(self, bond: Bond) -> MassProperties:
        """Return the mass properties of a bond's adhesive in the assembly's frame."""
        return prism(self._glued[bond], 0.0, bond.thickness, bond.density).moved(bond.pose)

    @cached_property
    def _glued(self) -> dict[Bond, Profile]:
        """Each bond's region, the holes of its screws taken out."""
        return {bond: profile(bond.region, self._bond_holes(bond)) for bond in self.bonds}

    def _bond_holes(self, bond: Bond) -> list[NDArray[np.float64]]:
        back = bond.pose.inverse()
        holes = []
        for point, width in self._through.get(frozenset((bond.first, bond.second)), ()):
            x, y, _ = back(point).tolist()
            if contains(bond.region, x, y):
                holes.append(circle(x, y, width))
        return holes

    def adhesive_volume(self) -> float:
        """Return the volume of all bonds in mm³, without squeeze-out."""
        return sum(self.bond_area(bond) * bond.thickness for bond in self.bonds)

    def bounds(self, fasteners: bool = True) -> Block:
        """Return the block (mm) that just holds every piece and, unless told otherwise, every fastener."""
        items = [*self.placed, *(self.fasteners() if fasteners else ())]
        blocks = [block for item in items for block in item.blocks()]
        return Block(np.min([b.low for b in blocks], axis=0), np.max([b.high for b in blocks], axis=0))


def screw_pose(line: ScrewLine) -> NDArray[np.float64]:
    """Return the rotation (3, 3) that lays a screw's own -z along the line's direction."""
    z = -line.direction
    x = np.array([0.0, 0.0, 1.0]) if abs(z[2]) < 0.5 else np.array([1.0, 0.0, 0.0])
    x = x - (x @ z) * z
    x /= np.linalg.norm(x)
    return np.column_stack([x, cross(z, x), z])


def drilled(assembly: Assembly) -> Assembly:
    """Return the assembly with every made piece's holes cut where its screw lines ask for them.

    Raises:
        ValueError: if a line names a piece that is not there, or its axis meets no face of the piece squarely: a
            generator's mistake, never the user's.
    """
    holes: dict[str, list[Hole]] = defaultdict(list)
    faces: dict[str, dict[str, Face]] = {}
    for line in assembly.lines:
        for layer in line.layers:
            item = assembly.by_mark.get(layer.mark)
            if item is None:
                raise ValueError(f"{line.name}: no piece '{layer.mark}' in {assembly.name}")
            if isinstance(item.piece, Bought) or layer.use == "bore":
                continue
            if layer.mark not in faces:
                faces[layer.mark] = item.piece.faces()
            holes[layer.mark] += _holes_of(line, layer, item, faces[layer.mark])
    placed = tuple(
        replace(item, piece=item.piece.with_holes(tuple(holes[item.mark])))
        if item.mark in holes and not isinstance(item.piece, Bought)
        else item
        for item in assembly.placed
    )
    return replace(assembly, placed=placed)


def _holes_of(line: ScrewLine, layer: Layer, item: Placed, faces: dict[str, Face]) -> list[Hole]:
    """Return the holes that a layer asks for, one a point, on the face that its axis meets squarely."""
    found = []
    for point in line.points:
        best: tuple[float, Hole] | None = None
        for name, face in faces.items():
            stands = item.pose.after(face.pose)
            facing = float(stands.turn[:, 2] @ line.direction)
            if abs(abs(facing) - 1) > _SQUARE:
                continue
            if facing > 0 and layer.depth is not None and layer.depth < face.depth - _NEAR:
                continue  # a blind hole starts where the screw comes from, not from behind
            back = stands.inverse()
            x, y, z = back(point).tolist()
            inside = (
                contains(face.outline, x, y)
                if face.outline is not None
                else -_NEAR <= x <= face.width + _NEAR and -_NEAR <= y <= face.height + _NEAR
            )
            if not inside:
                continue
            if layer.slot > layer.diameter:
                u, v, _ = (back.turn @ np.array(layer.slot_along)).tolist()
                loop = moved(
                    slot(0, 0, layer.diameter, layer.slot, float(np.degrees(np.arctan2(v, u)))),
                    x,
                    y,
                )
            else:
                loop = circle(x, y, layer.diameter)
            # Of two parallel faces (a bar has a front and a back) the one whose outside meets the head.
            distance = abs(z) if facing < 0 else abs(z) + face.depth
            hole = Hole(
                face=name,
                loop=loop,
                depth=face.depth if layer.depth is None else layer.depth,
                use=layer.use,
                callout=layer.callout,
                line=line.name,
            )
            if best is None or distance < best[0]:
                best = (distance, hole)
        if best is None:
            raise ValueError(f"{line.name}: the axis at {np.round(point, 3)} meets no face of '{layer.mark}' squarely")
        found.append(best[1])
    return found


def faying(
    name: str,
    first: Placed,
    second: Placed,
    gap: float,
    adhesive: str,
    density: float,
    least: float = 1.0,
) -> Bond:
    """Return the bond between two placed pieces: the largest rectangle where faces of both lie `gap` mm apart.

    Args:
        name: the bond's name.
        first: one piece.
        second: the other.
        gap: the bond line, mm.
        adhesive: the adhesive's name.
        density: kg/m³.
        least: overlaps narrower than this do not count as faces, mm.

    Raises:
        ValueError: if no two faces lie so: a generator's mistake.
    """
    best: tuple[float, Bond] | None = None
    for a in first.blocks():
        for b in second.blocks():
            for axis in range(3):
                for sign, distance in (
                    (1.0, b.low[axis] - a.high[axis]),
                    (-1.0, a.low[axis] - b.high[axis]),
                ):
                    if abs(distance - gap) > _NEAR:
                        continue
                    low, high = np.maximum(a.low, b.low), np.minimum(a.high, b.high)
                    u, v = (axis + 1) % 3, (axis + 2) % 3
                    wide, tall = high[u] - low[u], high[v] - low[v]
                    if wide < least or tall < least or (best is not None and wide * tall <= best[0]):
                        continue
                    start = a.high[axis] if sign > 0 else a.low[axis]
                    corner = np.zeros(3)
                    corner[axis] = start
                    x_axis, y_axis = np.eye(3)[u], np.eye(3)[v]
                    if sign < 0:  # keep x, y, z right-handed with z from first to second
                        u, v, x_axis, y_axis = v, u, y_axis, x_axis
                    region = rectangle(low[u], low[v], high[u], high[v])
                    best = (
                        wide * tall,
                        Bond(
                            name=name,
                            first=first.mark,
                            second=second.mark,
                            region=region,
                            pose=pose(x_axis, y_axis, corner),
                            thickness=gap,
                            adhesive=adhesive,
                            density=density,
                        ),
                    )
    if best is None:
        raise ValueError(f"{name}: {first.mark} and {second.mark} have no faces {gap:g} mm apart")
    return best[1]


def total(items: Iterable[Placed]) -> MassProperties:
    """Return the mass properties of placed pieces together."""
    return combine(item.piece.mass_properties().moved(item.pose) for item in items)
