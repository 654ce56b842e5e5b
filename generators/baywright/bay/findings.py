"""What a scan, or what moves, says about a box in its bay: clearances with their trust, the way in, room to work."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from baywright.bay.measure import scan_next
from baywright.bay.measured import bay_of
from baywright.bay.moving import swept
from baywright.bay.outside import outer_bodies
from baywright.bay.room import check_rooms
from baywright.bay.scan import read_scan
from baywright.bay.skin import Skin
from baywright.bay.straight import straight_up
from baywright.bay.surround import Nearest, Standing, Surround, standing, underfoot
from baywright.box.generate import BoxDesign
from baywright.finding import Finding, Verdict, at_least
from baywright.job import bays
from baywright.piece.solid import Body
from baywright.shape.pose import Pose


def surround_of(
    name: str, asked: bays.Bay, folder: Path, scan: Path | None = None, beside: tuple[Skin, ...] = ()
) -> Surround:
    """Return everything that a box in a bay of a job must keep clear of.

    Args:
        name: the bay's.
        asked: the bay as the job has it.
        folder: where the job lies: the scan's path counts from there.
        scan: a scan's description to use instead of the bay's own.
        beside: what else the job puts there: see `neighbours`.

    Raises:
        ValueError: if a plan crosses itself or encloses nothing.
        BadInput: if the scan can't be used.
    """
    path = scan if scan is not None else None if asked.scan is None else folder / asked.scan
    return Surround(
        bay=bay_of(name, asked),
        scan=None if path is None else read_scan(path),
        moving=tuple(swept(thing) for thing in asked.moving),
        beside=beside,
    )


def surround_findings(name: str, box: BoxDesign, pose: Pose, around: Surround) -> list[Finding]:
    """Return the findings about a box against a scan, what moves and what else stands there.

    The tape alone is `fit.check_fit`'s.

    Args:
        name: the box's name for the findings ("box front").
        box: the box.
        pose: where it stands.
        around: its bay.
    """
    found = [] if around.scan is None else [replace(f, subject=f"bay {around.bay.name}") for f in around.scan.findings]
    bodies = outer_bodies(box)
    found += skin_findings(name, bodies, pose, around)
    skins = [s for s in underfoot(bodies, pose, around.opened[1:]) if len(s)]
    if skins:
        top = max(float(s.bounds[1][2]) for s in skins)
        spare = straight_up(bodies, pose, skins, top)
        found.append(_straight(name, spare))
    return found + check_rooms(name, box, pose, around)


def skin_findings(name: str, bodies: Sequence[tuple[str, Body]], pose: Pose, around: Surround) -> list[Finding]:
    """Return how far bodies (mark, body in a frame that `pose` leads from) are from a scan and from what moves."""
    return [_clearance(name, skin.name, standing(bodies, pose, [skin], ways=False), around) for skin in around.shut[1:]]


def _clearance(name: str, against: str, stands: Standing, around: Surround) -> Finding:
    asked, near = around.bay.clearance, stands.least
    if near is None:
        return Finding(
            subject=name,
            check=f"clear of {against}",
            verdict="pass",
            message="nothing is near",
            source=around.bay.source,
        )
    return Finding(
        subject=name,
        check=f"clear of {against}",
        verdict=_verdict(near, asked),
        message=_sentence(near, stands, asked),
        value=near.gap.distance,
        limit=asked,
        unit="mm",
        margin=at_least(near.worst, asked),
        source=around.bay.source,
        where=(near.gap.mark, against),
        at=near.gap.on_skin,
    )


def _verdict(near: Nearest, asked: float) -> Verdict:
    if near.worst >= asked - 1e-6:
        return "pass"
    return "look" if near.gap.distance >= asked else "fail"


def _sentence(near: Nearest, stands: Standing, asked: float) -> str:
    x, y, z = near.gap.on_skin
    place = f"X {x:.0f}, Y {y:.0f}, Z {z:.0f} mm"
    if near.gap.distance < 0:
        return (
            f"'{near.gap.mark}' and {near.against} share space at {place}, {-near.gap.distance:.0f} mm deep or more "
            f"({stands.struck:,} triangles): move the box; `baywright place` finds where it goes"
        )
    text = f"{near.gap.distance:.1f} mm from '{near.gap.mark}' at {place}, {near.worst:.1f} mm at the worst"
    if near.worst >= asked:
        return text
    advice = scan_next(stands, asked)
    return f"{text}; {asked:g} mm asked: " + (advice[0].says if advice else "move it, turn it, or take fewer modules")


def _straight(name: str, spare: float) -> Finding:
    ok = spare >= 0
    return Finding(
        subject=name,
        check="way in past all that is there",
        verdict="pass" if ok else "look",
        message=f"goes straight down with {spare:.0f} mm to spare"
        if ok
        else "does not go straight down; `baywright wayin` looks for a path of shifts and turns",
        value=spare,
        limit=0.0,
        unit="mm",
        source="what stands there as scanned, moving and made, less what it may be off",
    )
