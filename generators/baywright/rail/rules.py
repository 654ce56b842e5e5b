"""The review of a set of rails: every finding about space, strength, rocking and the mounts as measured."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Literal

from baywright.finding import Finding, at_least, at_most, verdict_of
from baywright.piece.check import edge_findings, web_findings
from baywright.piece.scene import scene
from baywright.rail.clear import keep_boxes, rocking, rooms
from baywright.rail.design import RailDesign
from baywright.rail.holding import metal_findings, strength_findings
from baywright.rail.oriented import blocked, overlaps
from baywright.rail.stress import Solved, solve
from baywright.rail.told import finding

# A reading that the others check by less than this share is hardly checked (surveying textbooks: 0.1).
_CHECKED = 0.1

ROCKING = "clearance asked by the job; a finger's width, 10 to 15 mm: cut shops' and builders' guides"


def assumptions(design: RailDesign) -> tuple[str, ...]:
    """Return what the strength figures rest on, one sentence each."""
    shop = design.ask.shop
    return (
        "The motor unit is stiff; all mass, the rails' own too, sits in it.",
        f"Every load is multiplied by {shop.load_factor:g}; the load cases are common practice, no source.",
        "The mounts share loads by their stiffness and that of rails and hangers; they hold by forces, not by moments.",
        f"A rigid mount gives as {shop.rigid_mount_n_per_mm:g} N/mm and a bolted joint as "
        f"{shop.bolt_stiffness_n_per_mm:g} N/mm: guesses of the usual order.",
        "Bolts carry shear by themselves: friction under their heads is not counted.",
        "Cleats count as stiff where loads are shared; lugs and the motor's own metal are for its maker to answer for.",
        "A tube's wall takes each bolt's whole pull: that crush tubes are clamped by the bolts is not counted.",
        f"Bolts, and the mounts' own bolts and studs, are taken as of class {shop.grade}.",
        "Sections are drawn with sharp corners; rounded tubes have 2 to 6 % less.",
        "The car's own metal round its mounts is not checked. Fatigue is not checked: look for cracks at services.",
        "A keep-out that is not in the job is not seen: the chassis beside a mount, pipes, the exhaust.",
    )


def holds(design: RailDesign) -> bool:
    """Tell whether everything that depends on the section holds its loads."""
    return verdict_of(metal_findings(solve(design))) != "fail"


def check_rails(design: RailDesign) -> list[Finding]:
    """Return every finding about a set of rails."""
    place, strength = review_rails(design)
    return [*place, *strength]


def review_rails(design: RailDesign) -> tuple[list[Finding], list[Finding]]:
    """Return the findings about measuring, space and making, and those about strength."""
    solved = solve(design)
    place = [*_measured(design), *_moving(solved), *_made(design)]
    strength = strength_findings(solved)
    subject = f"rails {design.name}"
    return [replace(f, subject=subject) for f in place], [replace(f, subject=subject) for f in strength]


# --- the mounts as measured -------------------------------------------------------------------------------------------


def _measured(design: RailDesign) -> Iterator[Finding]:
    """Yield what the tape says: residuals, what nothing checks, and whether slots and holes take up what it missed."""
    source = "least squares of the readings, each to its tolerance"
    readings = design.located.readings
    wrong = [r for r in readings if abs(r.residual) > r.tolerance]
    for r in wrong:
        off = abs(r.residual)
        yield finding(
            "tape",
            "look",
            f"{r.what} reads {r.value:.0f} mm, the others make it {r.fitted:.0f} mm: measure it again",
            source,
            (r.first,),
            value=off,
            limit=r.tolerance,
            unit="mm",
            margin=at_most(off, r.tolerance),
        )
    loose = sorted({r.first for r in readings if r.checked < _CHECKED})
    if loose:
        yield finding(
            "tape",
            "look",
            f"a mistake in the readings of {', '.join(loose)} would not show: measure one more diagonal to each",
            source,
            loose,
        )
    elif readings and not wrong:
        worst = max(readings, key=lambda r: abs(r.residual) / r.tolerance)
        yield finding(
            "tape",
            "pass",
            f"{len(readings)} readings agree; the worst is {worst.what}, {worst.residual:+.1f} mm",
            source,
            (worst.first,),
            value=abs(worst.residual),
            limit=worst.tolerance,
            unit="mm",
            margin=at_most(abs(worst.residual), worst.tolerance),
        )
    shop, kit = design.ask.shop, design.kit
    for hanger in design.hangers:
        mount = hanger.mount
        play = (kit.hole(mount.ask.bolt) - kit.diameter(mount.ask.bolt)) / 2 + (shop.slot if mount.slotted else 0.0)
        if mount.spread > play + 1e-9:
            how = "slot" if mount.slotted else "round hole"
            yield finding(
                "mount place",
                "look",
                f"{mount.name} may be {mount.spread:.1f} mm off, its foot's {how} takes up {play:.1f} mm: offer the "
                "foot up and mark its hole from the car before drilling",
                source,
                (mount.name, hanger.foot.mark),
                value=mount.spread,
                limit=play,
                unit="mm",
                margin=at_most(mount.spread, play),
            )


# --- rocking and clearance --------------------------------------------------------------------------------------------


def _moving(solved: Solved) -> Iterator[Finding]:
    design, ask = solved.design, solved.design.ask
    rocks = rocking(solved)
    yield finding(
        "rocking",
        "pass",
        f"full torque turns the motor by {rocks.angle:.2f} degrees either way; in '{rocks.case}' it moves by up to "
        f"{rocks.moves:.1f} mm from rest",
        "stiffness of mounts, hangers and rails",
        tuple(mark for mark, _ in design.motors),
        value=rocks.angle,
        unit="deg",
    )
    for room in rooms(solved, keep_boxes(design)):
        worst = room.left - room.slack
        verdict: Literal["pass", "look", "fail"] = (
            "fail" if room.left < ask.clearance else "look" if worst < ask.clearance else "pass"
        )
        cure = {
            "pass": "",
            "look": f"; the tape's ±{room.slack:g} mm decides: measure it again",
            "fail": f"; {ask.clearance:g} mm asked: move it, or use stiffer mounts",
        }[verdict]
        yield finding(
            "clear of " + room.name,
            verdict,
            f"{room.mark} is {room.at_rest:.1f} mm from it at rest, {room.left:.1f} mm when the motor rocks{cure}",
            ROCKING,
            (room.mark, room.name),
            value=room.left,
            limit=ask.clearance,
            unit="mm",
            margin=at_least(worst, ask.clearance),
            at=room.at,
        )


# --- the pieces -------------------------------------------------------------------------------------------------------


def _made(design: RailDesign) -> Iterator[Finding]:
    met = overlaps(design.assembly)
    pairs = sorted({tuple(sorted((a.item.mark, b.item.mark))) for a, b in met})
    view = scene(design.assembly)
    if not pairs:
        count = len({s.item.mark for s in view.bodies})
        yield finding("overlap", "pass", f"none of {count} pieces and fasteners overlap", "the pieces as drawn")
    for first, second in pairs:
        yield finding("overlap", "fail", f"'{first}' and '{second}' overlap", "the pieces as drawn", (first, second))
    yield from edge_findings(design.assembly)
    yield from web_findings(design.assembly)
    shut = blocked(design.assembly)
    if not shut:
        heads = sum(len(line.points) for line in design.assembly.lines if line.screw is not None)
        yield finding("driver access", "pass", f"a driver reaches all {heads} heads", "the pieces as drawn")
    for line, other, point in shut:
        x, y, z = point.tolist()
        yield finding(
            "driver access",
            "fail",
            f"'{other}' stands over a head of '{line}': no driver gets at it",
            "the pieces as drawn",
            (line, other),
            at=(x, y, z),
        )
