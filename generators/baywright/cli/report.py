"""A review as a person reads it in a terminal."""

from baywright.cli.show import balance_table, console, findings_table, fits_table
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
        out.print(
            f"[bold]box {name}[/]: {layout.ask.count} x {layout.ask.module}, {layout.layers} high, "
            f"{layout.outside[0]:.0f} x {layout.outside[1]:.0f} x {high:.0f} mm, {mass.mass:.1f} kg"
        )
    for name, adapter in result.design.adapters.items():
        layers = " + ".join(f"{t:g}" for t in adapter.depth.layers)
        out.print(
            f"[bold]adapter {name}[/]: {adapter.given.ask.motor} to {adapter.given.ask.gearbox}, {layers} mm, "
            f"motor clocked {adapter.clocking:g} degrees, {adapter.metal.mass:.1f} kg"
        )
    for name, rails in result.design.rails.items():
        mounts = len(rails.mounts)
        out.print(f"[bold]rails {name}[/]: for {rails.ask.motor.name} on {mounts} mounts, {rails.metal.mass:.1f} kg")
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
    counts = {v: sum(f.verdict == v for f in result.findings) for v in ("fail", "look")}
    rest = "" if everything else " (--all lists them)"
    out.print(f"{counts['fail']} fail, {counts['look']} to look at, {passed} pass{rest}")
