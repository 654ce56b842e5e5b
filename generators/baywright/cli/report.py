"""A review as a person reads it in a terminal."""

from baywright.cli.show import balance_table, console, findings_table, fits_table, glance_table, headed
from baywright.review import Review


def print_review(result: Review, everything: bool = False) -> None:
    """Print a review: caution, boxes, findings worst first, balance, and what passed as a count."""
    out = console()
    out.print(
        "A geometry and arithmetic check only: no approval of crash, fatigue, fire or electrical safety. "
        "Local codes and a licensed engineer decide.",
        style="italic",
    )
    out.print()
    for name, box in result.design.boxes.items():
        layout, mass = box.layout, box.mass_properties
        high = layout.lid_under + layout.kit.style.lid.thickness
        size = " x ".join(f"{v:.0f}" for v in (*layout.outside[:2], high))
        what = f"{layout.ask.count} x {layout.ask.module}, {layout.layers} high"
        out.print(headed(f"box {name}", f": {what}, {size} mm, {mass.mass:.1f} kg"))
    for name, adapter in result.design.adapters.items():
        layers = " + ".join(f"{t:g}" for t in adapter.depth.layers)
        between = f"{adapter.given.ask.motor} to {adapter.given.ask.gearbox}, {layers} mm"
        clocked = f"motor clocked {adapter.clocking:g} degrees"
        out.print(headed(f"adapter {name}", f": {between}, {clocked}, {adapter.metal.mass:.1f} kg"))
    for name, rails in result.design.rails.items():
        held = f"for {rails.ask.motor.name} on {len(rails.mounts)} mounts"
        out.print(headed(f"rails {name}", f": {held}, {rails.metal.mass:.1f} kg"))
    out.print()
    shown = [f for f in result.findings if everything or f.verdict != "pass"]
    passed = sum(f.verdict == "pass" for f in result.findings)
    if shown:
        out.print(findings_table(shown))
        out.print()
    if result.fits:
        out.print(fits_table(result.fits.values()))
        out.print()
    out.print(balance_table(result.balance))
    out.print()
    out.print(glance_table(result))
    out.print()
    counts = {v: sum(f.verdict == v for f in result.findings) for v in ("fail", "look")}
    rest = "" if everything else " (--all lists them)"
    out.print(f"{counts['fail']} fail, {counts['look']} to look at, {passed} pass{rest}")
