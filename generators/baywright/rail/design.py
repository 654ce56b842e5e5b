"""The design of a set of rails: pieces and bolts in the rail frame, and what carries what."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from baywright.job.rails import KeepClear, RailsAsk
from baywright.piece.assembly import Assembly
from baywright.piece.extrusion import Stock
from baywright.rail.bars import Bar
from baywright.rail.given import Given
from baywright.rail.measure import Located
from baywright.rail.place import Mount
from baywright.rail.shop import Kit
from baywright.shape.mass import MassProperties, combine, point_mass
from baywright.shape.pose import Pose

Array = NDArray[np.float64]

UNIT = "motor unit"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ply:
    """One piece of metal that bolts of a joint bear on.

    Attributes:
        mark: the piece.
        thickness: that the hole bears on, mm.
        hole: mm.
        bears: diameter of what bears on it: bolt or crush tube, mm.
        material: its name.
        edge: from the holes to the nearest free edge, mm; None where the metal goes on round a corner.
    """

    mark: str
    thickness: float
    hole: float
    bears: float
    material: str
    edge: float | None


@dataclass(frozen=True, eq=False, kw_only=True)
class Joint:
    """Bolts that hold two things together.

    Attributes:
        name: as its screw line.
        first: mark of a bar, a plate or a foot, or `UNIT`.
        second: the same.
        points: (n, 3) mm, where the two touch.
        axis: (3,): the bolts' direction.
        size: thread.
        plies: the metal they bear on.
        lever: how far the clamped part reaches from its bolts before it tips, mm: contact beyond the bolt row.
    """

    name: str
    first: str
    second: str
    points: Array
    axis: Array
    size: str
    plies: tuple[Ply, ...]
    lever: float


@dataclass(frozen=True, eq=False, kw_only=True)
class Foot:
    """The angle that a mount's bolt goes through.

    Attributes:
        mark: its mark.
        stock: its section.
        length: along the angle, mm.
        ends: from the mount's bolt to either end of the angle, mm.
        arm: from the face that it is bolted to, to the mount's bolt, mm.
        gauge: from its seat to its bolts, mm.
        reach: length of the leg that it is bolted by, mm.
        root: (3,) mm: the middle of its bolts.
        along: (3,): the angle's direction.
        out: (3,): from the face to the mount's bolt.
        up: (3,): from the seat into the foot: the mount's way.
        gussets: thickness of its two gussets, 0 if it has none, mm.
        gusset_side: length of their legs, mm.
        hole: through hole for the mount's bolt, mm.
    """

    mark: str
    stock: Stock
    length: float
    ends: tuple[float, float]
    arm: float
    gauge: float
    reach: float
    root: Array
    along: Array
    out: Array
    up: Array
    gussets: float
    gusset_side: float
    hole: float

    @property
    def wall(self) -> float:
        """Its thickness, mm."""
        return self.stock.wall

    @property
    def material(self) -> str:
        """Its material's name."""
        return self.stock.material


@dataclass(frozen=True, eq=False, kw_only=True)
class Saddle:
    """A flat plate under (or on) a bar that reaches beside it to a mount, on spacers where it has to stand off.

    Attributes:
        mark: its mark.
        wall: its thickness, mm.
        material: its name.
        width: across its way to the mount, where it leaves what it bears on, mm.
        free: from there to the mount's bolt, mm.
        arm: from its bolts to the mount's bolt, out from the bar, mm.
        offset: the mount's bolt from the middle of its bolts, along the bar, mm.
        apart: its bolts from each other, mm.
        support: half the width that it bears on: of the bar, or of its spacers, mm.
        gap: length of its spacers, 0 if it lies on the bar, mm.
        root: (3,) mm: the middle of its bolts, on the face toward the bar.
        along: (3,): along the bar.
        out: (3,): from the bar to the mount's bolt.
        up: (3,): from the mount's seat into the saddle.
        hole: through hole for the mount's bolt, mm.
    """

    mark: str
    wall: float
    material: str
    width: float
    free: float
    arm: float
    offset: float
    apart: float
    support: float
    gap: float
    root: Array
    along: Array
    out: Array
    up: Array
    hole: float


@dataclass(frozen=True, eq=False, kw_only=True)
class Hanger:
    """What bridges from a bar to one mount: a saddle; or a foot, and a plate where the mount is not level with the bar.

    Attributes:
        mount: the mount.
        bar: mark of the bar.
        foot: its foot or saddle.
        plate: mark of its plate; "" if the foot is bolted straight to the bar.
        thickness: of the plate, mm.
        width: of the plate, square to the line from bar to foot, mm.
        free: length of plate between bar and foot, mm.
        plate_root: (3,) mm: the middle of the plate's bolts in the bar.
        lean: how far the mount's bolt leans from square to the foot, degrees.
    """

    mount: Mount
    bar: str
    foot: Foot | Saddle
    plate: str = ""
    thickness: float = 0.0
    width: float = 0.0
    free: float = 0.0
    plate_root: Array
    lean: float


@dataclass(frozen=True, eq=False, kw_only=True)
class RailDesign:
    """Rails as they are to be made.

    Attributes:
        name: what the job calls them.
        given: the job's request, its motor known.
        kit: the shop's rows.
        pose: from the rail frame to the vehicle's.
        assembly: motors, rails, cleats, hangers and their bolts, drilled, in the rail frame.
        motors: (mark, place of its front end along the shaft).
        bars: rails and crossbars by mark.
        joints: every bolted joint that carries load.
        hangers: one a mount.
        mounts: the mounts in the rail frame.
        located: how the mounts were found.
        sides: what the car calls the sides at y < 0 and y > 0.
        keep_outs: what motor and rails must stay clear of, vehicle frame.
    """

    name: str
    given: Given
    kit: Kit
    pose: Pose
    assembly: Assembly
    motors: tuple[tuple[str, float], ...]
    bars: dict[str, Bar]
    joints: tuple[Joint, ...]
    hangers: tuple[Hanger, ...]
    mounts: tuple[Mount, ...]
    located: Located
    sides: tuple[str, str]
    keep_outs: tuple[KeepClear, ...]

    @property
    def ask(self) -> RailsAsk:
        """The job's request as it stands."""
        return self.given.ask

    @cached_property
    def motor(self) -> MassProperties:
        """Mass properties of the motor or motors in the rail frame: even cylinders about the shaft, centres as given.

        The piece that stands for a motor in the assembly has its lugs or feet, too; by their spread its inertia would
        be taken far too large.
        """
        m = self.given.motor
        along, across = m.mass * m.diameter**2 / 8, m.mass * (m.diameter**2 / 16 + m.length**2 / 12)
        one = np.diag([along, across, across])
        centre, x_axis = np.array(m.centre), np.array([1.0, 0.0, 0.0])
        return combine(MassProperties(m.mass, centre + x * x_axis, one) for _, x in self.motors)

    @cached_property
    def metal(self) -> MassProperties:
        """Mass properties of rails, hangers and bolts, the motor not counted, in the rail frame."""
        own = {mark for mark, _ in self.motors}
        return combine(properties for mark, properties in self.assembly.ledger() if mark not in own)

    @cached_property
    def unit(self) -> MassProperties:
        """Mass properties of all that swings on the mounts: motor, rails and what else the job hangs on them."""
        back = self.pose.inverse()
        hung = (point_mass(c.mass, back(np.array(c.at)).tolist()) for c in self.ask.carried)
        return combine([self.metal, self.motor, *hung])

    @cached_property
    def carried(self) -> list[tuple[str, MassProperties]]:
        """What is new in the car as (name, mass properties in the vehicle's frame): rails, and motor."""
        return [
            (f"rails {self.name}", self.metal.moved(self.pose)),
            (f"{self.given.motor.name} of rails {self.name}", self.motor.moved(self.pose)),
        ]
