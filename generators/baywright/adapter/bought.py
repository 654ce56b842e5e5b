"""What is bought for an adapter: bolts with their washers, dowel pins, and the motor as an envelope."""

import numpy as np

from baywright.adapter.thread import Thread
from baywright.finding import CannotBuild
from baywright.job.adapters import MotorRow
from baywright.piece.bought import Bought
from baywright.piece.solid import Body, Round
from baywright.shape.mass import KG_PER_MM3

_UP = np.array([0.0, 0.0, 1.0])
# Standard lengths of parallel pins, ISO 2338, mm (from memory).
_PIN_LENGTHS = (
    *(8, 10, 12, 14, 16, 18, 20, 22, 24, 26, 28, 30, 32, 35, 40, 45, 50, 55, 60, 65, 70, 75, 80, 85, 90, 95, 100, 120),
)


def bolt(thread: Thread, length: float, grade: str, density: float, washer: bool) -> Bought:
    """Return a cap screw: under its head (or washer) at z = 0, the tip at z = -length (less the washer).

    The mass is that of plain cylinders at the thread's nominal diameter and a full head: a little more than real.
    """
    row, d = thread.row, thread.diameter
    under = row.washer.thickness if washer else 0.0
    head = row.cap
    bodies: list[Body] = [
        Round(np.array([0.0, 0.0, under]), _UP, head.head_height, head.head_diameter),
        Round(np.array([0.0, 0.0, under - length]), _UP, length, d),
    ]
    volume = np.pi / 4 * (head.head_diameter**2 * head.head_height + d**2 * length)
    metric = thread.name.startswith("M")
    size = f"{length:g}" if metric else f"{length / 25.4:g} in"
    name = f"{thread.name} x {size} cap head screw {'ISO 4762' if metric else 'ASME B18.3'}, "
    name += f"class {grade}" if metric else grade
    if washer:
        w = row.washer
        bodies.insert(1, Round(np.zeros(3), _UP, under, w.outside))
        volume += np.pi / 4 * (w.outside**2 - w.inside**2) * under
        name += " + washer ISO 7089" if metric else " + washer ASME B18.21.1"
    return Bought(
        role="screw",
        name=name,
        mass=float(volume) * density * KG_PER_MM3,
        bodies_=tuple(bodies),
        source="computed from the tables of screws and bolts",
        group="screws",
    )


def pin_length(diameter: float, least: float, most: float) -> float:
    """Return the longest standard pin between two lengths, mm.

    Raises:
        CannotBuild: if there is none.
    """
    found = [length for length in _PIN_LENGTHS if least - 1e-9 <= length <= most + 1e-9]
    if not found:
        raise CannotBuild("gearbox", f"no standard dowel pin of {diameter:g} mm is {least:.0f} to {most:.0f} mm long")
    return float(max(found))


def pin(diameter: float, length: float, fit: str, density: float, hole: float) -> Bought:
    """Return a parallel pin: one end at z = 0, the other at z = -length.

    Args:
        diameter: of the pin, mm.
        length: of the pin, mm.
        fit: its ISO 286 class.
        density: kg/m³.
        hole: what is drilled for it before reaming, mm: its body is drawn no wider, so that it lies in its hole.
    """
    return Bought(
        role="dowel pin",
        name=f"parallel pin {diameter:g} {fit} x {length:g} ISO 2338, steel",
        mass=float(np.pi / 4 * diameter**2 * length) * density * KG_PER_MM3,
        bodies_=(Round(np.array([0.0, 0.0, -length]), _UP, length, min(diameter, hole)),),
        source="computed",
        group="screws",
    )


def motor(row: MotorRow, spigot: tuple[float, float] | None) -> Bought:
    """Return the motor as cylinders: its face at z = 0, its body behind, shaft and spigot in front.

    Args:
        row: the motor.
        spigot: diameter and height of its spigot, mm, or None.
    """
    bodies: list[Body] = [
        Round(np.array([0.0, 0.0, -row.length]), _UP, row.length, row.diameter),
        Round(np.zeros(3), _UP, row.shaft.length.value, row.shaft.diameter),
    ]
    if spigot is not None:
        bodies.append(Round(np.zeros(3), _UP, spigot[1], spigot[0]))
    behind = row.length / 2 if row.centre is None else row.centre
    return Bought(
        role="motor",
        name=row.description or row.name,
        mass=row.mass,
        centre=np.array([0.0, 0.0, -behind]),
        bodies_=tuple(bodies),
        source=row.source,
        group="motor",
    )
