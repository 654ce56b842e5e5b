"""A motor's map in a car: what of the wheels' power its shaft, its controller and the gears use up, at every moment."""

from dataclasses import dataclass
from math import pi

import numpy as np
from numpy.typing import NDArray

from baywright.job.drive import Drive

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False, kw_only=True)
class PowerTrain:
    """Motor, gears and wheels.

    Attributes:
        speeds: (n,) of the map, rev/min.
        torques: (m,) of the map, of one motor, N·m.
        table: (m, n) efficiency, controller included.
        count: motors in line.
        most_speed: the shaft's most, rev/min.
        turns: (k,) shaft's rev/min at a road speed of 1 m/s, by gear.
        gears: efficiency from shaft to wheels.
    """

    speeds: Array
    torques: Array
    table: Array
    count: int
    most_speed: float
    turns: Array
    gears: float

    def efficiency(self, power: Array, speed: Array) -> Array:
        """Return the efficiency (n,) between pack and wheels at a power (W, either sign) and a road speed (m/s).

        At every moment the gear that loses least, of those in which the motor turns no faster than it may. Beyond the
        map's edges its edge counts.
        """
        best = np.zeros(np.broadcast(power, speed).shape)
        slowest = int(np.argmin(self.turns))
        for gear, per in enumerate(self.turns):
            shaft = speed * per
            torque = np.abs(power) / self.gears / np.maximum(shaft * pi / 30, 1e-9) / self.count
            here = self.gears * _between(self.speeds, self.torques, self.table, shaft, torque)
            if gear != slowest:
                here = np.where(shaft <= self.most_speed, here, 0.0)
            best = np.maximum(best, here)
        return best


def _between(x: Array, y: Array, table: Array, at_x: Array, at_y: Array) -> Array:
    """Return a table (y, x) read at points, straight between its entries, its edges carried on."""
    at_x, at_y = np.clip(at_x, x[0], x[-1]), np.clip(at_y, y[0], y[-1])
    i = np.clip(np.searchsorted(x, at_x, side="right") - 1, 0, len(x) - 2)
    j = np.clip(np.searchsorted(y, at_y, side="right") - 1, 0, len(y) - 2)
    u, v = (at_x - x[i]) / (x[i + 1] - x[i]), (at_y - y[j]) / (y[j + 1] - y[j])
    low = table[j, i] * (1 - u) + table[j, i + 1] * u
    high = table[j + 1, i] * (1 - u) + table[j + 1, i + 1] * u
    out: Array = low * (1 - v) + high * v
    return out


def power_train(drive: Drive) -> PowerTrain | None:
    """Return a drive's power train; None if its motor has no map."""
    chart = drive.motor.map
    if chart is None:
        return None
    return PowerTrain(
        speeds=np.array(chart.speeds),
        torques=np.array(chart.torques),
        table=np.array(chart.efficiency),
        count=drive.motor.count,
        most_speed=drive.motor.most_speed,
        turns=np.array(drive.gears.ratios) * drive.gears.final * 1000 / drive.gears.tyre_radius * 30 / pi,
        gears=drive.gears.efficiency,
    )
