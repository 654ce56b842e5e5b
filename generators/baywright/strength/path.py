"""The load path of a box as statics: what each module, bearer and foot takes when the box is thrown.

Box frame: x to the service end, z up, origin mid-floor on the underside; N, mm. Every free body is in balance.
"""

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from baywright.box.generate import BoxDesign
from baywright.job.loads import DIRECTIONS, G, LoadCase
from baywright.mechanics.boltgroup import BoltForces, group_forces
from baywright.mechanics.statics import Array, Share, Support, share
from baywright.piece.assembly import Piece
from baywright.piece.extrusion import Extrusion
from baywright.piece.joint import ScrewLine
from baywright.shape.pose import turned

# The way a box is thrown, in the vehicle's frame: X rearward, Y to the right, Z up.
_WAYS = {
    "forward": (-1.0, 0.0, 0.0),
    "rearward": (1.0, 0.0, 0.0),
    "left": (0.0, -1.0, 0.0),
    "right": (0.0, 1.0, 0.0),
    "up": (0.0, 0.0, 1.0),
    "down": (0.0, 0.0, -1.0),
}
_LEVEL = ("forward", "rearward", "left", "right")
# Feet share a load by their stiffness: all alike, but a slotted foot gives way along the box.
_EVEN = 1e4


@dataclass(frozen=True, eq=False)
class Throw:
    """One way of one load case.

    Attributes:
        way: "forward" …; "" where a rule imposes forces on the mounts.
        g: how hard, in g, without the load factor.
        force: (3,) N per kg in the box's frame, weight and load factor in.
        text: as a person says it: "20 g forward".
    """

    way: str
    g: float
    force: Array
    text: str


def throws(case: LoadCase, yaw: float) -> list[Throw]:
    """Return every throw of a case on a box that stands turned by `yaw` degrees in the car."""
    into_box = turned("z", yaw).turn.T
    found = []
    for way in DIRECTIONS:
        g = getattr(case, way)
        if g is None:
            continue
        force = g * G * np.array(_WAYS[way])
        if case.weight and way in _LEVEL:
            force = force + np.array([0.0, 0.0, -G])
        text = f"{g:g} g {way}" + (f" x {case.load_factor:g}" if case.load_factor != 1 else "")
        found.append(Throw(way, g, case.load_factor * (into_box @ force), text))
    return found


@dataclass(frozen=True, eq=False)
class BearerLoads:
    """What one bearer takes.

    Attributes:
        mark: the bearer's mark.
        points: (n, 2) mm: x and y of the hold-downs that stand in it.
        forces: (n, 3) N of the modules on it there.
        own: (3,) N: its own mass, thrown.
        span: mm between its ends.
        ends: (2, 3) N: what its ends at -y and +y give to the walls. Along y both share.
        moments: (n,) N·mm: bending in the upright plane under each point.
        side_moments: (n,) N·mm: bending in the level plane.
    """

    mark: str
    points: Array
    forces: Array
    own: Array
    span: float
    ends: Array
    moments: Array
    side_moments: Array


@dataclass(frozen=True, eq=False)
class Statics:
    """The statics of one box."""

    design: BoxDesign
    _bearers: dict[tuple[float, ...], list[BearerLoads]] = field(default_factory=dict, repr=False)
    _feet: dict[tuple[float, ...], Share] = field(default_factory=dict, repr=False)
    _masses: dict[str, float] = field(default_factory=dict, repr=False)
    _areas: dict[str, float] = field(default_factory=dict, repr=False)
    _holds: dict[tuple[float, ...], BoltForces] = field(default_factory=dict, repr=False)

    def mass(self, mark: str) -> float:
        """Return the mass of a placed piece by its mark, kg."""
        if mark not in self._masses:
            self._masses[mark] = self.design.assembly.by_mark[mark].piece.mass_properties().mass
        return self._masses[mark]

    def bond_area(self, name: str) -> float:
        """Return the area of a bond by its name, screw holes taken out, mm²."""
        if name not in self._areas:
            assembly = self.design.assembly
            self._areas[name] = assembly.bond_area(next(bond for bond in assembly.bonds if bond.name == name))
        return self._areas[name]

    @cached_property
    def lines(self) -> dict[str, ScrewLine]:
        """Screw lines by name."""
        return {line.name: line for line in self.design.assembly.lines}

    def mass_of(self, *roles: str) -> float:
        """Return the mass of every piece of these roles together, kg."""
        return sum(self.mass(item.mark) for item in self.design.assembly.placed if item.piece.role in roles)

    def lined_mass(self, mark: str, liner: str) -> float:
        """Return the mass of a panel with what lines it, kg: the pieces whose marks begin with `liner`."""
        key = f"{mark} and {liner}"
        if key not in self._masses:
            marks = (item.mark for item in self.design.assembly.placed)
            self._masses[key] = sum(self.mass(name) for name in marks if name == mark or name.startswith(liner))
        return self._masses[key]

    @cached_property
    def module_mass(self) -> float:
        """One module with its share of the coolant, kg."""
        layout = self.design.layout
        return layout.module.module.mass + self.mass_of("coolant") / layout.ask.count

    @cached_property
    def module_centre(self) -> Array:
        """A module's centre of mass (3,) mm from the middle of its underside, as it lies."""
        module = self.design.layout.module
        return np.asarray(module.pose(np.array(module.module.centre_of_mass, dtype=float)))

    @cached_property
    def holds(self) -> Array:
        """A module's hold-downs (n, 3) mm in the plane of its underside."""
        holds = self.design.layout.module.holds
        return np.column_stack([holds, np.zeros(len(holds))])

    def on_hold_downs(self, force: Array, module_count: int = 1) -> BoltForces:
        """Return what each hold-down of a module (or of a stack of modules) takes of a throw (3,) N per kg.

        Args:
            force: N per kg.
            module_count: modules one on another that the same rods hold; their pitch is a layer's.

        Raises:
            ValueError: if the hold-downs stand in one line and the throw tips the module about it.
        """
        key = (module_count, *force.tolist())
        if key not in self._holds:
            layout = self.design.layout
            pitch = float(layout.module.size[2]) + layout.layer_gap
            lift = np.array([0.0, 0.0, pitch * (module_count - 1) / 2])
            whole = module_count * self.module_mass * force
            self._holds[key] = group_forces(self.holds, [0, 0, 1], whole, np.zeros(3), self.module_centre + lift)
        return self._holds[key]

    def bearers(self, force: Array, layer: int = 1, row: int = 1) -> list[BearerLoads]:
        """Return what the bearers of one row of a layer take, at a module's two (or more) lines of hold-downs."""
        key = (layer, row, *force.tolist())
        if key not in self._bearers:
            self._bearers[key] = self._row(force, layer, row)
        return self._bearers[key]

    def _row(self, force: Array, layer: int, row: int) -> list[BearerLoads]:
        layout, assembly = self.design.layout, self.design.assembly
        each = self.on_hold_downs(force)
        loads = each.shear + each.tension[:, None] * np.array([0.0, 0.0, 1.0])
        places = [at for k, r, _, at in layout.places if (k, r) == (layer, row)]
        found = []
        for number, x in enumerate(layout.across_x[row - 1], 1):
            mark = f"bearer {layer}.{row}.{number}"
            points, forces = [], []
            for at in places:
                for hold, load in zip(layout.module.holds, loads, strict=True):
                    if abs(at[0] + hold[0] - x) < 1e-6:
                        points.append((x, at[1] + hold[1]))
                        forces.append(load)
            long = length_of(assembly.by_mark[mark].piece)
            found.append(_bearer(mark, np.array(points), np.array(forces), self.mass(mark) * force, long))
        return found

    @cached_property
    def feet(self) -> list[Support]:
        """The box's feet at their bolts: held every way, but a slotted foot not along the box."""
        held = {slotted: _EVEN * np.array([0.0 if slotted else 1.0, 1.0, 1.0]) for slotted in (True, False)}
        return [
            Support(name=foot.mark, at=bolt, axes=np.eye(3), stiffness=held[foot.slotted])
            for foot in self.design.feet
            for bolt in foot.bolts
        ]

    def on_feet(self, force: Array) -> Share:
        """Return what the car does to the box at each foot's bolt: (n, 3) N, by the elastic method.

        Raises:
            NotHeld: if the feet do not hold the box.
        """
        key = tuple(force.tolist())
        if key not in self._feet:
            body = self.design.mass_properties
            self._feet[key] = share(self.feet, body.mass * force, np.zeros(3), body.centroid)
        return self._feet[key]


def length_of(piece: Piece) -> float:
    """Return the length of an extrusion, mm."""
    if not isinstance(piece, Extrusion):
        raise TypeError(f"a {piece.role} is no length of stock")
    return piece.length


def _bearer(mark: str, points: Array, forces: Array, own: Array, span: float) -> BearerLoads:
    """Return the statics of one bearer, simply supported at its ends, its own mass spread evenly."""
    y = points[:, 1] + span / 2
    far = (forces * y[:, None]).sum(axis=0) / span
    ends = np.array([forces.sum(axis=0) - far, far]) + own / 2
    ends[:, 1] = (forces.sum(axis=0)[1] + own[1]) / 2
    # Cut at each point: what the near end gives, less the loads before it. Sag is positive for loads down.
    arms = np.maximum(y[:, None] - y[None, :], 0.0)

    def bending(axis: int) -> NDArray[np.float64]:
        spread = own[axis] * y**2 / (2 * span)
        return np.asarray(ends[0, axis] * y - arms @ forces[:, axis] - spread)

    return BearerLoads(mark, points, forces, own, span, ends, bending(2), bending(0))
