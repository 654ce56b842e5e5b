"""What a pack is held against: the controller's window, the modules' currents, cable and fuse, and its high voltage."""

from collections.abc import Iterator

from baywright.finding import Finding, Verdict, at_least, at_most
from baywright.job.drive import PackAsk
from baywright.job.parts import Electrical
from baywright.vehicle.pack import COPPER, RUN_SOURCE, Pack, cable_resistance
from baywright.vehicle.voltage import air_gap, ampacity, creepage, isolation, touch

# A fuse carries this share of its rating without stop; common practice, from memory (codes ask 125 % of the current).
FUSE_LOAD = 0.8
# Volts that power cables may lose at the peak current, percent of nominal: common practice, from memory.
DROP = 3.0
FUSE_SOURCE = "common practice, from memory: a fuse carries 80 % of its rating without stop"


def pack_findings(pack: Pack, module: Electrical, ask: PackAsk) -> list[Finding]:
    """Return what a person should read about a pack of equal modules.

    Raises:
        ValueError: if a cable or a voltage is not in the shop's tables.
    """
    return [
        *_window(pack, ask),
        *_currents(pack, module, ask),
        *_protection(pack, ask),
        *_danger(pack, ask),
        *_layout(pack, ask),
    ]


def _limit(
    check: str,
    value: float,
    limit: float,
    unit: str,
    source: str,
    good: str,
    bad: str,
    most: bool = True,
    digits: int = 0,
) -> Finding:
    margin = at_most(value, limit) if most else at_least(value, limit)
    verdict: Verdict = "pass" if margin >= 0 else "fail"
    message = f"{value:.{digits}f} {unit} against {limit:.{digits}f} {unit}: {good if margin >= 0 else bad}"
    return Finding(
        subject="pack",
        check=check,
        verdict=verdict,
        message=message,
        value=value,
        limit=limit,
        unit=unit,
        margin=margin,
        source=source,
    )


def _window(pack: Pack, ask: PackAsk) -> Iterator[Finding]:
    """Yield whether the pack's voltage stays in the controller's and the charger's window."""
    control = ask.controller
    if control is not None:
        source = "the controller's data sheet"
        top = pack.full
        what = "full"
        if control.regeneration_current is not None:
            top += control.count * control.regeneration_current * pack.resistance
            what = "full and regenerating"
        yield _limit(
            f"voltage, {what}",
            top,
            control.most_voltage,
            "V",
            source,
            "within the controller's window",
            f"over the controller's most: take fewer than {pack.in_series} modules in series",
        )
        yield _limit(
            "voltage, empty",
            pack.cutoff,
            control.least_voltage,
            "V",
            source,
            "the controller works to the last",
            "the controller gives up before the pack is empty: more modules in series, or count less energy",
            most=False,
        )
        if pack.sagged is not None:
            yield _limit(
                "voltage under peak current",
                pack.sagged,
                max(control.least_voltage, pack.cutoff),
                "V",
                source,
                "sag included",
                "sags below the controller's least or the modules' cut-off: limit the peak current or add strings",
                most=False,
            )
    if ask.charger is not None:
        yield _limit(
            "voltage, charging",
            pack.full,
            ask.charger.most_voltage,
            "V",
            "the charger's data sheet",
            "the charger can fill it",
            "the charger can't fill it",
        )
        hours = pack.usable / ask.charger.power
        yield Finding(
            subject="pack",
            check="charging",
            verdict="pass",
            message=f"about {hours:.1f} h for {pack.usable:.1f} kWh at {ask.charger.power:g} kW, the taper apart",
            value=hours,
            unit="h",
            source="energy over power",
        )


def _currents(pack: Pack, module: Electrical, ask: PackAsk) -> Iterator[Finding]:
    """Yield whether the modules bear what the controller draws and the charger gives."""
    source = "the module's data sheet"
    for check, value, limit in (
        ("continuous current", pack.continuous, module.continuous_current),
        ("peak current", pack.peak, module.peak_current),
    ):
        if value is None:
            continue
        rate = value / module.capacity
        yield _limit(
            f"{check} of a module",
            value,
            limit,
            "A",
            source,
            f"{rate:.1f} C",
            f"{rate:.1f} C is too much: limit the controller to {limit * pack.strings:.0f} A, or add strings",
        )
    if ask.charger is not None:
        current = 1000 * ask.charger.power / pack.nominal / pack.strings
        yield Finding(
            subject="pack",
            check="charging current of a module",
            verdict="pass" if current <= module.capacity / 2 else "look",
            message=f"{current:.0f} A, {current / module.capacity:.2f} C: "
            + (
                "gentle" if current <= module.capacity / 2 else "ask the module's data sheet whether it takes that cold"
            ),
            value=current,
            limit=module.capacity / 2,
            unit="A",
            margin=at_most(current, module.capacity / 2),
            source="common practice, no source: half the capacity an hour is gentle",
        )


def _protection(pack: Pack, ask: PackAsk) -> Iterator[Finding]:
    """Yield whether cable and fuse suit the current and each other."""
    carries = None
    if ask.cable is not None:
        carries, source = ampacity(ask.cable.area, ask.cable.insulation_temperature, ask.cable.surroundings_temperature)
        if pack.continuous is not None:
            yield _limit(
                "cable",
                pack.continuous,
                carries,
                "A",
                source,
                f"{ask.cable.area:g} mm² carries the continuous current",
                f"{ask.cable.area:g} mm² is too thin for the continuous current",
            )
    fuse = ask.fuse
    if fuse is None:
        yield Finding(
            subject="pack",
            check="fuse",
            verdict="look",
            message=f"each string needs a fuse for {pack.full:.0f} V DC and a short of {pack.short_circuit:.0f} A",
            source="common practice, no source",
        )
        return
    if pack.continuous is not None:
        yield _limit(
            "fuse against current",
            pack.continuous,
            FUSE_LOAD * fuse.rating,
            "A",
            FUSE_SOURCE,
            "the fuse holds",
            "the fuse will tire: take a larger one and a cable to match",
        )
    if pack.peak is not None and pack.peak > fuse.rating:
        yield Finding(
            subject="pack",
            check="fuse under peak current",
            verdict="look",
            message=f"{pack.peak:.0f} A is {pack.peak / fuse.rating:.1f} times its {fuse.rating:.0f} A: "
            "read off its curve how long it bears that, and let the controller ask for less long",
            value=pack.peak,
            limit=fuse.rating,
            unit="A",
            margin=at_most(pack.peak, fuse.rating),
            source="the fuse's time-current curve, which is not known here",
        )
    if carries is not None:
        yield _limit(
            "fuse against cable",
            fuse.rating,
            carries,
            "A",
            "a fuse protects its cable if its rating is at most what the cable carries",
            "the fuse protects the cable",
            "the cable burns before the fuse blows: take a smaller fuse or a thicker cable",
        )
    yield _limit(
        "fuse's voltage",
        pack.full,
        fuse.voltage,
        "V",
        "the fuse's data sheet, its DC rating",
        "it can break the pack's voltage",
        "it can't break the arc: take a fuse for more volts DC",
    )
    if fuse.breaking is not None:
        yield _limit(
            "fuse's breaking capacity",
            pack.short_circuit,
            fuse.breaking,
            "A",
            "the fuse's data sheet; short-circuit current from the modules' resistance",
            "it can break a dead short",
            "a dead short is more than it can break",
        )


def _danger(pack: Pack, ask: PackAsk) -> Iterator[Finding]:
    """Yield what the pack's voltage asks for: touch, isolation, creepage."""
    limit, source = touch()
    dangerous = pack.full > limit
    yield Finding(
        subject="pack",
        check="touch voltage",
        verdict="look" if dangerous else "pass",
        message=f"{pack.full:.1f} V DC full: "
        + (
            f"over {limit:g} V it can kill: covers, orange cable, service disconnect, trained hands"
            if dangerous
            else f"at most {limit:g} V: not of the dangerous class"
        ),
        value=pack.full,
        limit=limit,
        unit="V",
        # No margin where it is over: nothing mends that, and what can be mended comes first.
        margin=None if dangerous else at_most(pack.full, limit),
        source=source,
    )
    if not dangerous:
        return
    per_volt, source = isolation()
    needed = per_volt * pack.full / 1000
    if ask.isolation_kohm is None:
        yield Finding(
            subject="pack",
            check="isolation",
            verdict="look",
            message=f"measure at least {needed:.1f} kΩ between each pole and the body when all is fitted",
            limit=needed,
            unit="kΩ",
            source=source,
        )
    else:
        yield _limit(
            "isolation",
            ask.isolation_kohm,
            needed,
            "kΩ",
            source,
            "isolated",
            "find the leak before anything is switched on",
            most=False,
            digits=1,
        )
    dirt, group = ask.pollution_degree, ask.material_group
    way = f"along surfaces from live parts to metal (pollution degree {dirt}, material group {group})"
    yield _apart("creepage", ask.creepage, *creepage(pack.full, dirt, group), way, "groove")
    way = f"through air from live parts to metal (pollution degree {dirt})"
    yield _apart("clearance in air", ask.air_gap, *air_gap(pack.full, dirt), way, "put a barrier between")


def _apart(check: str, built: float | None, distance: float, source: str, way: str, cure: str) -> Finding:
    """Return whether live parts are far enough from metal one way; to be kept while it is not measured."""
    if built is None:
        return Finding(
            subject="pack",
            check=check,
            verdict="look",
            message=f"keep at least {distance:g} mm {way}",
            limit=distance,
            unit="mm",
            source=source,
        )
    good, bad = f"enough {way}", f"too short {way}: insulate, {cure}, or move apart"
    return _limit(check, built, distance, "mm", source, good, bad, most=False, digits=1)


def _senses(pack: Pack) -> Finding:
    """Return how many sense wires each box needs, and how long they are if one board watches all boxes."""
    each = ", ".join(f"{s.wires} in {s.box}" for s in pack.senses)
    outside = [s for s in pack.senses if s.metres]
    if outside:
        runs = ", ".join(f"{s.wires} of {s.metres:.1f} m from {s.box}" for s in outside)
        total = sum(s.wires * (s.metres or 0.0) for s in outside)
        message = (
            f"{each}; to the one board {runs}, {total:.0f} m in all, every one of them live: "
            "a fuse at each cell's end, orange sleeve, and rather a board in each box"
        )
    else:
        total, message = 0.0, f"{each}: with a board in each box they stay inside; a data line joins the boards"
    return Finding(
        subject="pack",
        check="sense wires",
        verdict="look" if outside else "pass",
        message=message,
        value=total,
        unit="m",
        source="one wire more than a module has cell groups in series; " + RUN_SOURCE,
    )


def _drop(pack: Pack, ask: PackAsk) -> Iterator[Finding]:
    """Yield how many volts the power cables lose, out and back, at the continuous and at the peak current."""
    if ask.cable is None or not pack.links or pack.continuous is None or pack.peak is None:
        return
    ohm = cable_resistance(pack.links, ask)
    lost, most = pack.continuous * ohm, pack.peak * ohm
    share = 100 * most / pack.nominal
    over = share > DROP
    yield Finding(
        subject="pack",
        check="cable's voltage drop",
        verdict="look" if over else "pass",
        message=f"{ask.cable.area:g} mm², {1000 * ohm:.2f} mΩ a string: {lost:.2f} V at {pack.continuous:.0f} A "
        f"without stop, {most:.2f} V at {pack.peak:.0f} A, {share:.2f} % of {pack.nominal:.0f} V"
        + (": a thicker or a shorter cable" if over else ""),
        value=share,
        limit=DROP,
        unit="%",
        margin=at_most(share, DROP),
        source=f"copper of {COPPER:.5f} Ω mm²/m: IEC 60028 carried to 60 °C; at most {DROP:g} % at peak: common "
        "practice, from memory; " + RUN_SOURCE,
    )


def _layout(pack: Pack, ask: PackAsk) -> Iterator[Finding]:
    """Yield which strings cross from box to box, and how much cable there is."""
    if pack.crossing:
        spots = "; ".join(
            f"string {i}: " + ", ".join(f"{count} in {name}" for name, count in pack.places[i - 1])
            for i in pack.crossing
        )
        message = f"{spots}: their power cable goes from box to box, and so does the line between their boards"
        several = pack.strings > 1
        yield Finding(
            subject="pack",
            check="strings across boxes",
            verdict="look" if several else "pass",
            message=message,
            value=float(len(pack.crossing)),
            source="common practice, no source: a string in one box needs no cable between its modules",
        )
    yield _senses(pack)
    yield from _drop(pack, ask)
    if pack.links:
        total = sum(link.metres for link in pack.links)
        each = ", ".join(f"{link.first} to {link.second} {link.metres:.1f} m" for link in pack.links)
        yield Finding(
            subject="pack",
            check="power cable",
            verdict="pass",
            message=f"about {total:.1f} m: {each}",
            value=total,
            unit="m",
            source=RUN_SOURCE,
        )
