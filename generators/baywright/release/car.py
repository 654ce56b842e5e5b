"""Pictures of the car: balance, range, force at the wheels."""

from pathlib import Path

from baywright.job.drive import Drive
from baywright.vehicle.scatter import Scatter
from baywright.vehicle.whole import Vehicle


def write_car_pictures(found: Vehicle, drive: Drive | None, spread: Scatter, folder: Path) -> list[Path]:
    """Write balance.png, and range.png and force.png where pack and drive are known, and return their paths.

    Args:
        found: the car, reckoned.
        drive: what the job says of motor and gears; None if nothing.
        spread: how sure the balance is.
        folder: where to; it must be there.
    """
    from baywright.vehicle.force_picture import force_picture
    from baywright.vehicle.performance import engine_torque, motor_torque
    from baywright.vehicle.picture import balance_picture
    from baywright.vehicle.range import range_picture

    written = [folder / "balance.png"]
    balance_picture(found.car, found.balance, written[-1], spread)
    if found.ranges is not None:
        written.append(folder / "range.png")
        range_picture(found.ranges, found.load, found.losses, written[-1])
    if drive is not None and found.chassis is not None and found.motor is not None:
        # The motor as the pack lets it: its power in the car, not its plate's.
        sources = [("motor", motor_torque(drive.motor, found.motor.power), drive.motor.most_speed)]
        if drive.engine is not None:
            sources.append(("engine", engine_torque(drive.engine), drive.engine.speeds[-1]))
        written.append(folder / "force.png")
        force_picture(found.chassis, sources, written[-1])
    return written
