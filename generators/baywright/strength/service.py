"""Stiffness and heat: natural frequencies of the panels and of the box on its feet, growth between the feet."""

from collections.abc import Sequence

import numpy as np

from baywright.box.feet import bolt_reach
from baywright.box.generate import BoxDesign
from baywright.finding import Finding, Verdict, at_least, at_most
from baywright.job.loads import LoadCase
from baywright.mechanics.plate import Plate, supported_frequency
from baywright.mechanics.statics import Support, natural_frequencies, stiffness
from baywright.strength.check import Calculation
from baywright.strength.path import length_of
from baywright.strength.pulse import shock_response
from baywright.strength.verdict import carried

# The band in which a road shakes a car's body, Hz: the sweep of the vibration test of UN R100 (from memory).
ROAD = (7.0, 50.0)
_ROAD = "road: 7 to 50 Hz, the sweep of UN R100's vibration test, from memory"
# Level stiffness of a foot, N/mm: its leg in its own plane; so much stiffer than its bending that it hardly counts.
_STIFF = 1e5
# A car's body of steel, 1/K; and the temperature at which a box is bolted in, °C (common practice, no source).
_STEEL, _FITTED = 12e-6, 20.0


def service(design: BoxDesign, cases: Sequence[LoadCase], motor_speed: float | None = None) -> list[Finding]:
    """Return findings on frequencies, growth with heat, and the adhesive's temperature.

    Args:
        design: the box.
        cases: the load cases; the warmest bond of them is held against the adhesive.
        motor_speed: the motor's highest speed, 1/min, if it is known: a coupler shakes once a turn.
    """
    found = [_panels(design, motor_speed)]
    if design.feet:
        found += [_on_feet(design), _growth(design)]
    return [*found, _warmth(design, cases)]


def panel_frequencies(design: BoxDesign) -> dict[str, float]:
    """Return the lowest natural frequency (Hz) of each panel, simply supported, liner and fittings on it."""
    layout, style = design.layout, design.layout.kit.style
    high = layout.wall_top - layout.wall_bottom
    sizes = {
        "floor": (layout.inside, style.floor, "liner floor"),
        "wall right": ((layout.inside[0], high), style.wall, "liner right"),
        "wall service": ((layout.inside[1], high), style.wall, "liner service"),
        "lid": (layout.inside, style.lid, "no liner"),
    }
    found = {}
    for mark, ((a, b), sheet, liner) in sizes.items():
        row = layout.kit.catalogue.material(sheet.material)
        if row.E is None:
            continue
        mass = sum(
            p.piece.mass_properties().mass for p in design.assembly.placed if p.mark == mark or p.mark.startswith(liner)
        )
        if mark == "wall service":
            mass += sum(f.row.mass for f in design.fitted)
        plate = Plate(a, b, sheet.thickness, row.E, row.nu if row.nu is not None else 0.33)
        found[mark] = supported_frequency(plate, mass / (a * b))
    return found


def foot_stiffness(design: BoxDesign) -> float:
    """Return the upright stiffness of a foot (N/mm): its lower leg a cantilever from the upright leg to the bolt."""
    kit = design.layout.kit
    stock = kit.stock(kit.style.feet.section)
    length = length_of(design.assembly.by_mark[design.feet[0].mark].piece)
    arm = bolt_reach(design.layout)
    modulus = kit.catalogue.material(stock.material).E or 0.0
    return modulus * length * stock.wall**3 / (4 * arm**3)


def box_frequencies(design: BoxDesign) -> np.ndarray:
    """Return the six natural frequencies (Hz) of the box as a stiff body on its feet, lowest first."""
    upright = foot_stiffness(design) / len(design.feet[0].bolts)
    supports = [
        Support(name=foot.mark, at=bolt, axes=np.eye(3), stiffness=np.array([_STIFF, _STIFF, upright]))
        for foot in design.feet
        for bolt in foot.bolts
    ]
    body = design.mass_properties
    return natural_frequencies(stiffness(supports, body.centroid), body, body.centroid)[0]


def _panels(design: BoxDesign, motor_speed: float | None) -> Finding:
    hertz = panel_frequencies(design)
    mark, lowest = min(hertz.items(), key=lambda item: item[1])
    ok = lowest >= ROAD[1]
    each = ", ".join(f"{name} {f:.0f} Hz" for name, f in hertz.items())
    text = f"panels' lowest: {each}"
    if not ok:
        text += f"; '{mark}' is within the road's {ROAD[0]:g} to {ROAD[1]:g} Hz: thicker, or a stiffener across it"
    if motor_speed is not None:
        turn = motor_speed / 60
        inside = [name for name, f in hertz.items() if f <= turn]
        text += f"; a coupler shakes once a turn, to {turn:.0f} Hz" + (
            f", and passes {', '.join(inside)}" if inside else ""
        )
    return _finding(design, "panel frequency", ok, text, lowest, ROAD[1], () if ok else (mark,))


def _on_feet(design: BoxDesign) -> Finding:
    lowest = float(box_frequencies(design)[0])
    ok = lowest >= ROAD[1]
    text = f"lowest of the box on its feet {lowest:.0f} Hz, road to {ROAD[1]:g} Hz" + (
        "" if ok else ": the road shakes it where it swings; thicker, longer or more feet, or wider apart"
    )
    return _finding(design, "frequency on its feet", ok, text, lowest, ROAD[1], (design.feet[0].mark,))


def pulse_finding(design: BoxDesign, case: LoadCase, done: Sequence[Calculation]) -> Finding:
    """Return how much a box that swings on its feet feels of a case's crash pulse, and what is used then.

    Args:
        design: the box, with feet.
        case: a load case with a pulse.
        done: its calculations under the case's steady forces.
    """
    assert case.pulse is not None
    swings = [float(f) for f in box_frequencies(design)]
    over, way, hertz = max(
        (shock_response(corners, f), name, f)
        for name, corners in (("lengthwise", case.pulse.lengthwise), ("across", case.pulse.across))
        for f in swings
    )
    worst = carried(done)
    use = 100 * over * (worst.use if worst is not None else 0.0)
    ok = use <= 100
    text = (
        f"{case.name}: on feet that swing at {swings[0]:.0f} Hz and more (on a stiff car), the box feels "
        f"{over:.2f} times the peak of the pulse {way} (at {hertz:.0f} Hz)"
    )
    if worst is not None:
        text += f"; what is used most, {worst.member}, then is at {use:.0f} %"
    return Finding(
        subject=f"box {design.name}",
        check="crash pulse",
        verdict="pass" if ok else "look",
        message=text + ("" if ok else ": stiffer feet, or stronger ones"),
        value=use,
        limit=100.0,
        unit="%",
        margin=at_most(use, 100.0),
        source=f"{case.source}; undamped shock response, Duhamel's integral",
        where=(design.feet[0].mark,),
    )


def _finding(
    design: BoxDesign, check: str, ok: bool, text: str, value: float, limit: float, where: tuple[str, ...]
) -> Finding:
    return Finding(
        subject=f"box {design.name}",
        check=check,
        verdict="pass" if ok else "look",
        message=text,
        value=value,
        limit=limit,
        unit="Hz",
        margin=at_least(value, limit),
        source=_ROAD + "; plates simply supported, feet as cantilevers, from memory",
        where=where,
    )


def _growth(design: BoxDesign) -> Finding:
    """Return whether the slots take what a box grows between its feet as it warms."""
    kit = design.layout.kit
    bolts = np.array([bolt for foot in design.feet for bolt in foot.bolts])
    long = float(np.ptp(bolts[:, 0]))
    grows = kit.catalogue.material(kit.style.wall.material).expansion or 0.0
    span = kit.adhesive.service_temperature
    swing = max(span.most - _FITTED, _FITTED - span.least)
    growth = long * abs(grows - _STEEL) * swing
    feet = kit.style.feet
    play = (feet.slot_length - kit.clearance(feet.bolt)) / 2
    hole = (kit.clearance(feet.bolt) - kit.diameter(feet.bolt)) / 2
    ok = growth <= play
    why = f"round holes have {hole:.1f} mm" if growth <= hole else f"round holes, {hole:.1f} mm, would bind"
    return Finding(
        subject=f"box {design.name}",
        check="growth with heat",
        verdict="pass" if ok else "fail",
        message=f"{long:.0f} mm between the feet grow {growth:.2f} mm against a steel body over {swing:.0f} K; the "
        f"slots give {play:.1f} mm either way, {why}" + ("" if ok else "; longer slots"),
        value=growth,
        limit=play,
        unit="mm",
        margin=at_most(growth, play),
        source=f"fitted at {_FITTED:g} °C, the adhesive's service range; steel 12e-6 /K: EN 1993-1-1, from memory",
        where=tuple(foot.mark for foot in design.feet if foot.slotted),
    )


def _warmth(design: BoxDesign, cases: Sequence[LoadCase]) -> Finding:
    adhesive = design.layout.kit.adhesive
    least, most = adhesive.service_temperature.least, adhesive.service_temperature.most
    # Of the warmest and the coldest case the one that is nearer to its end of the range, or farther beyond it.
    every = [case.temperature for case in cases] or [_FITTED]
    cold, warm = min(every), max(every)
    at, limit = (cold, least) if cold - least < most - warm else (warm, most)
    left = min(cold - least, most - warm)
    ok = left >= 0
    verdict: Verdict = "pass" if ok else "fail"
    return Finding(
        subject=f"box {design.name}",
        check="adhesive's temperature",
        verdict=verdict,
        message=f"bonds reckoned at {at:g} °C; '{adhesive.name}' serves from {least:g} to {most:g} °C"
        + ("" if ok else ": another adhesive"),
        value=at,
        limit=limit,
        unit="°C",
        margin=left / (most - least),
        source=adhesive.source,
    )
