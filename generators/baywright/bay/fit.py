"""Does a box fit its bay: inside or not, the least clearance on each side, keep-outs, and the way in from above."""

from collections.abc import Sequence
from dataclasses import dataclass

from baywright.bay.envelope import SAME, Bay
from baywright.bay.near import ABOVE, BELOW, FRONT, LEFT, REAR, RIGHT, Clearance, to_bay, to_thing, way_in
from baywright.bay.solids import solids
from baywright.finding import Finding, Verdict, at_least, verdict_of
from baywright.piece.solid import Body
from baywright.shape.pose import Pose

_AWAY = {FRONT: "rearward", REAR: "forward", LEFT: "to the right", RIGHT: "to the left", ABOVE: "down", BELOW: "up"}
_OPPOSITE = {FRONT: REAR, REAR: FRONT, LEFT: RIGHT, RIGHT: LEFT, ABOVE: BELOW, BELOW: ABOVE}
_AT = {
    FRONT: "at the front",
    REAR: "at the rear",
    LEFT: "on the left",
    RIGHT: "on the right",
    ABOVE: "above",
    BELOW: "below",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class FitResult:
    """How a box fits a bay.

    Attributes:
        name: the box.
        bay: the bay.
        inside: whether every piece lies in the bay and in no keep-out, as measured.
        sides: the least clearance on each side that has one, in the order of `SIDES`.
        keep_outs: the least clearance to each keep-out, by its name.
        way_in: the least clearance on each side on a straight way down through the opening; empty if not measured.
        drops_in: whether the box goes straight down through the opening as measured; None if it was not measured.
        findings: what a person should read.
    """

    name: str
    bay: str
    inside: bool
    sides: tuple[Clearance, ...]
    keep_outs: tuple[tuple[str, Clearance], ...]
    way_in: tuple[Clearance, ...]
    drops_in: bool | None
    findings: tuple[Finding, ...]

    @property
    def verdict(self) -> Verdict:
        """The worst verdict among the findings."""
        return verdict_of(self.findings)


def check_fit(name: str, bodies: Sequence[tuple[str, Body]], pose: Pose, bay: Bay) -> FitResult:
    """Return how a box fits a bay.

    Distances are exact for pieces that stand upright, yawed or turned by quarters; see `solids` for the others. A box
    that stands on the bay's floor needs no clearance below.

    Args:
        name: the box's name.
        bodies: (mark, body in the box's frame, mm) for every piece.
        pose: from the box's frame to the vehicle's.
        bay: the measured bay, vehicle frame.

    Raises:
        ValueError: if there is no body, or the bay has no space.
    """
    if not bodies or not bay.spaces:
        raise ValueError("a fit needs at least one body and one space")
    solid = solids(bodies, pose, bay.levels)
    sides, inside = to_bay(solid, bay)
    things = tuple((thing.name, to_thing(solid, thing, bay.clearance)) for thing in bay.keep_outs)
    ways, drops_in = way_in(solid, bay)
    free = inside and all(c.nominal >= -SAME for _, c in things)
    findings = [
        _inside_finding(name, bay, inside, sides),
        *(_finding(name, bay, f"clearance {_AT[c.side]}", c, sides) for c in sides),
        *(_finding(name, bay, f"clear of {thing}", c) for thing, c in things),
        _way_finding(name, bay, ways, drops_in),
    ]
    return FitResult(
        name=name,
        bay=bay.name,
        inside=free,
        sides=sides,
        keep_outs=things,
        way_in=ways,
        drops_in=drops_in,
        findings=tuple(findings),
    )


def _inside_finding(name: str, bay: Bay, inside: bool, sides: Sequence[Clearance]) -> Finding:
    out = sorted((c for c in sides if c.nominal < -SAME), key=lambda c: c.nominal)
    if inside:
        message = f"every piece of it lies in the bay '{bay.name}'"
    elif out:
        ways = ", ".join(f"{-c.nominal:.0f} mm {_AT[c.side]} ({c.mark} through {c.against})" for c in out)
        message = f"it does not go into the bay '{bay.name}': {ways}; move it, turn it, or take fewer modules"
    else:
        message = f"it lies outside the bay '{bay.name}'; check where it stands"
    return Finding(
        subject=name,
        check="inside the bay",
        verdict="pass" if inside else "fail",
        message=message,
        value=out[0].nominal if out else None,
        limit=0.0 if out else None,
        unit="mm",
        margin=None,
        source="the bay as measured",
        where=(bay.name, *(c.mark for c in out[:1])),
        at=out[0].at if out else None,
    )


def _finding(name: str, bay: Bay, check: str, c: Clearance, sides: Sequence[Clearance] = ()) -> Finding:
    """Return the finding about one clearance; `sides` tell whether there is room on the opposite side to move to."""
    slack = c.nominal - c.worst
    found = f"{c.nominal:.1f} mm {_AT[c.side]} from {c.mark} to {c.against}"
    if c.verdict == "pass":
        message = "it stands on the floor" if c.side == BELOW and c.needed == 0 else found
        message += f", {c.worst:.1f} mm at the tape's worst" if slack > 0.05 else ""
    elif c.verdict == "look":
        message = (
            f"{found}, {c.worst:.1f} mm at the tape's worst; {c.needed:.4g} mm asked: "
            f"measure {c.against} to ±{max(c.nominal - c.needed, 0.5):.1g} mm or better"
        )
    else:
        short = c.needed - c.nominal
        room = min((s.nominal - s.needed for s in sides if s.side == _OPPOSITE[c.side]), default=short)
        message = f"{found}; {c.needed:.4g} mm asked: "
        if room >= short - SAME:
            message += f"move it {short:.1f} mm {_AWAY[c.side]}, or take off as much"
        elif room > 0.05:
            message += f"it can go {room:.1f} mm {_AWAY[c.side]}, so take off {short - room:.1f} mm or more"
        else:
            message += f"take off {short:.1f} mm: there is no room {_AT[_OPPOSITE[c.side]]} to move it to"
        if c.nominal + slack >= c.needed:
            message += f"; the tape's ±{slack:g} mm may decide, so measure {c.against} again"
    return Finding(
        subject=name,
        check=check,
        verdict=c.verdict,
        message=message,
        value=c.nominal,
        limit=c.needed,
        unit="mm",
        margin=at_least(c.worst, c.needed),
        source=bay.source,
        where=(bay.name, c.mark, c.against),
        at=c.at,
    )


def _way_finding(name: str, bay: Bay, ways: Sequence[Clearance], drops_in: bool | None) -> Finding:
    """Return the finding about the way in."""
    if drops_in is None:
        return Finding(
            subject=name,
            check="way in",
            verdict="look",
            message=f"the opening of '{bay.name}' was not measured: offer up a cardboard box before cutting metal",
            source="common practice, no source",
            where=(bay.name,),
        )
    worst = min(ways, key=lambda c: c.worst - c.needed, default=None)
    if worst is None or (not drops_in and worst.nominal >= 0):
        message = (
            f"it does not drop straight in: metal of the bay '{bay.name}' lies above it or it stands beside the opening"
        )
        return Finding(
            subject=name,
            check="way in",
            verdict="fail",
            message=message,
            source="the bay as measured",
            where=(bay.name,),
        )
    found = f"{worst.nominal:.1f} mm {_AT[worst.side]} from {worst.mark} to {worst.against} on the straight way down"
    if drops_in and worst.verdict == "pass":
        message = found
    elif drops_in and worst.verdict == "look":
        message = (
            f"{found}, {worst.worst:.1f} mm at the tape's worst; {worst.needed:.4g} mm asked: "
            f"measure {worst.against} again"
        )
    elif drops_in:
        message = f"{found}; {worst.needed:.4g} mm asked: move it {_AWAY[worst.side]} or take a smaller box"
    else:
        message = (
            f"it does not drop straight in: {worst.mark} strikes {worst.against} by {-worst.nominal:.0f} mm "
            f"{_AT[worst.side]}; move it {_AWAY[worst.side]}, or bring it in another way"
        )
    return Finding(
        subject=name,
        check="way in",
        verdict=worst.verdict if drops_in else "fail",
        message=message,
        value=worst.nominal,
        limit=worst.needed,
        unit="mm",
        margin=at_least(worst.worst, worst.needed),
        source=bay.source,
        where=(bay.name, worst.mark, worst.against),
        at=worst.at,
    )
