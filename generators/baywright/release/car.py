"""Pictures of the car: balance, range, force at the wheels."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from baywright.box.generate import BoxDesign
from baywright.figure import save_figure
from baywright.job.drive import Drive
from baywright.piece.solid import Block
from baywright.vehicle.scatter import Scatter
from baywright.vehicle.whole import Vehicle

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def outsides_of(boxes: Mapping[str, BoxDesign]) -> list[tuple[str, Block]]:
    """Return name and outside of each box in its place (vehicle frame, mm)."""
    return [(name, box.size.moved(box.pose)) for name, box in boxes.items()]


def car_figures(
    found: Vehicle, drive: Drive | None, spread: Scatter, boxes: Sequence[tuple[str, Block]] = ()
) -> dict[str, "Figure"]:
    """Return the car's pictures by name: balance, and range and force where pack and drive are known.

    Args:
        found: the car, reckoned.
        drive: what the job says of motor and gears; None if nothing.
        spread: how sure the balance is.
        boxes: name and outside of each box in its place (vehicle frame, mm).
    """
    from baywright.vehicle.force_picture import Source, force_figure
    from baywright.vehicle.performance import engine_torque, motor_torque
    from baywright.vehicle.picture import balance_figure
    from baywright.vehicle.range import range_figure

    drawn = {"balance": balance_figure(found.car, found.balance, spread, boxes)}
    if found.ranges is not None:
        drawn["range"] = range_figure(found.ranges, found.load, found.losses)
    if drive is not None and found.chassis is not None and found.motor is not None:
        # The motor as the pack lets it: its power in the car, not its plate's.
        motor, burst = drive.motor, found.motor.power
        lasting = motor_torque(motor, min(burst, motor.count * motor.continuous_power))
        sources = [Source(found.motor.name, motor_torque(motor, burst), lasting, motor.most_speed, found.motor.top)]
        if drive.engine is not None and found.engine is not None:
            old = engine_torque(drive.engine)
            sources.append(Source("engine", old, None, drive.engine.speeds[-1], found.engine.top))
        drawn["force"] = force_figure(found.chassis, sources)
    return drawn


def write_car_pictures(
    found: Vehicle, drive: Drive | None, spread: Scatter, folder: Path, boxes: Sequence[tuple[str, Block]] = ()
) -> list[Path]:
    """Write the car's pictures into a folder that must be there, balance.png and so on, and return their paths.

    Arguments as of `car_figures`.
    """
    drawn = car_figures(found, drive, spread, boxes)
    return [save_figure(figure, folder / f"{name}.png") for name, figure in drawn.items()]
