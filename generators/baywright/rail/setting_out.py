"""What a set of rails is set out by: the mounts' places in the car, and what a tape checks between them."""

from dataclasses import dataclass

import numpy as np

from baywright.rail.design import RailDesign


@dataclass(frozen=True, slots=True, kw_only=True)
class MountRow:
    """A mount as tables say it.

    Attributes:
        name: its name.
        place: X, Y, Z in the vehicle's frame, mm.
        spread: how far it may be off, mm; "-" where the job does not say.
        bolt: thread, how it is fixed, rubber or rigid.
        hole: in the foot: "dia 11" or "slot 11 x 21".
        bar: mark of the bar that it hangs on.
        lean: how far its bolt leans from square to the foot, degrees; "-" if it does not.
    """

    name: str
    place: tuple[str, str, str]
    spread: str
    bolt: str
    hole: str
    bar: str
    lean: str


def mount_rows(design: RailDesign) -> list[MountRow]:
    """Return the table of mounts."""
    kit = design.kit
    rows = []
    for hanger in design.hangers:
        mount = hanger.mount
        x, y, z = (f"{v + 0.0:.1f}" for v in design.located.places[mount.name].round(1).tolist())
        hole = kit.hole(mount.ask.bolt)
        rubber = "rubber" if mount.ask.rubber else "rigid"
        rows.append(
            MountRow(
                name=mount.name,
                place=(x, y, z),
                spread=f"±{mount.spread:.1f}" if mount.spread else "-",
                bolt=f"{mount.ask.bolt} {mount.ask.fixing}, {rubber}",
                hole=f"slot {hole:g} x {hole + 2 * design.ask.shop.slot:g}" if mount.slotted else f"dia {hole:g}",
                bar=hanger.bar,
                lean=f"{hanger.lean:.1f}°" if hanger.lean > 0.05 else "-",
            )
        )
    return rows


def diagonals(design: RailDesign) -> list[tuple[str, str, float]]:
    """Return the distances between all pairs of mounts (mm): what a tape checks before anything is drilled."""
    places = design.located.places
    names = [h.mount.name for h in design.hangers]
    return [(a, b, float(np.linalg.norm(places[a] - places[b]))) for i, a in enumerate(names) for b in names[i + 1 :]]
