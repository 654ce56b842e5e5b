"""Tables of the car to print: balance with its bands, items, wheels, pack, range, performance, what moved."""

from typing import TYPE_CHECKING

from baywright.vehicle.balance import Balance
from baywright.vehicle.moved import Moved
from baywright.vehicle.pack import Pack
from baywright.vehicle.performance import Performance
from baywright.vehicle.range import Ranges
from baywright.vehicle.road import MILE
from baywright.vehicle.scatter import Band, Scatter, Spread

if TYPE_CHECKING:
    from rich.table import Table

_UNKNOWN = "not known"


def _table(title: str, *columns: str) -> "Table":
    """Return an empty table whose first column is text and whose others are figures."""
    from rich.table import Table

    table = Table(title=title, title_justify="left", show_edge=False, pad_edge=False, box=None)
    for i, name in enumerate(columns):
        table.add_column(name, justify="left" if i == 0 else "right")
    return table


def _figure(value: float | None, digits: int = 0, signed: bool = False) -> str:
    if value is None:
        return _UNKNOWN
    return f"{value:+.{digits}f}" if signed else f"{value:.{digits}f}"


def _banded(value: float | None, band: Band | None, digits: int = 0) -> str:
    if value is None or band is None:
        return _figure(value, digits)
    return f"{value:.{digits}f} ± {(band.high - band.low) / 2:.{digits}f}"


def render_balance(whole: Balance, spread: Scatter | None = None) -> "Table":
    """Return the car before, stripped, after and laden; with bands (95 %) where a scatter is given."""
    states = (whole.before, whole.stripped, whole.after, *whole.laden)
    bands: list[Spread | None] = [None] * len(states)
    if spread is not None:
        bands = [spread.before, spread.stripped, spread.after, *spread.laden]
    table = _table(f"Balance of {whole.car}" + (" (± 95 %)" if spread else ""), "", *(s.name for s in states))
    rows = (
        ("mass, kg", "mass", 0),
        ("front axle, kg", "front", 0),
        ("rear axle, kg", "rear", 0),
        ("front share, %", "front_share", 1),
        ("left share, %", "left_share", 1),
        ("cross weight, %", "cross", 1),
        ("centroid behind front axle, mm", "x", 0),
        ("centroid right of middle, mm", "y", 0),
        ("centroid above ground, mm", "z", 0),
    )
    for name, field, digits in rows:
        pairs = zip(states, bands, strict=True)
        table.add_row(name, *(_banded(getattr(s, field), getattr(b, field, None), digits) for s, b in pairs))
    return table


def render_items(whole: Balance) -> "Table":
    """Return everything that came out and went in: mass and place, each with its standard uncertainty."""
    table = _table("Out and in", "what", "kg", "±", "X, mm", "Y, mm", "Z, mm", "±")
    for sign, items in ((-1, whole.removed), (1, whole.added)):
        for item in items:
            mass, place = item.errors()
            table.add_row(
                item.name,
                f"{sign * item.mass:+.1f}",
                f"{mass:.1f}",
                _figure(item.x),
                _figure(item.y),
                _figure(item.z),
                f"{place:.0f}",
            )
    return table


def render_corners(whole: Balance) -> "Table":
    """Return the load under each wheel before and after, and what it gained: what a spring supplier asks."""
    table = _table("Wheels, kg", "", "front left", "front right", "rear left", "rear right")
    for state in (whole.before, whole.after, *whole.laden):
        if state.corners is not None:
            table.add_row(state.name, *(f"{load:.0f}" for load in state.corners.as_tuple()))
    if whole.per_corner is not None:
        table.add_row("gained", *(f"{load:+.1f}" for load in whole.per_corner.as_tuple()))
    return table


def render_inertia(whole: Balance) -> "Table":
    """Return what the conversion adds to the inertia about the centroid, kg·m²."""
    table = _table("Inertia about the centroid, kg·m²", "", "roll", "pitch", "yaw")
    i = whole.inertia
    if i is None:
        table.add_row("added", *[_UNKNOWN] * 3)
    else:
        table.add_row("added", f"{i.roll:+.0f}", f"{i.pitch:+.0f}", f"{i.yaw:+.0f}")
        table.add_row("yaw before, a guess (m·a·b)", "", "", f"{i.yaw_before:.0f}")
    return table


def render_pack(pack: Pack) -> "Table":
    """Return the pack's figures."""
    table = _table("Pack", "", "")
    rows = (
        ("modules", f"{pack.modules}: {pack.strings} string(s) of {pack.in_series}"),
        ("voltage full, nominal, empty", f"{pack.full:.0f} V, {pack.nominal:.0f} V, {pack.cutoff:.0f} V"),
        ("voltage at peak current", _UNKNOWN if pack.sagged is None else f"{pack.sagged:.0f} V"),
        ("capacity", f"{pack.capacity:.0f} Ah"),
        ("energy, usable", f"{pack.energy:.1f} kWh, {pack.usable:.1f} kWh"),
        ("resistance, dead short", f"{1000 * pack.resistance:.0f} mΩ, {pack.short_circuit:.0f} A"),
    )
    for row in rows:
        table.add_row(*row)
    for i, boxes in enumerate(pack.places, 1):
        table.add_row(f"string {i}", ", ".join(f"{count} in {name}" for name, count in boxes))
    for link in pack.links:
        table.add_row(f"cable {link.first} to {link.second}", f"{link.metres:.1f} m")
    return table


def render_ranges(found: Ranges) -> "Table":
    """Return how far the pack goes."""
    table = _table(f"Range on {found.usable:.1f} kWh, ± 10 % at best", "", "Wh/km", "Wh/mile", "km", "miles")
    for row in found.rows:
        table.add_row(row.name, f"{row.per_km:.0f}", f"{row.per_km * MILE:.0f}", f"{row.km:.0f}", f"{row.miles:.0f}")
    return table


def render_performance(motor: Performance, engine: Performance | None = None) -> "Table":
    """Return what motor and engine give, gear by gear."""
    table = _table("Performance", "", "force, N", "axle, N·m", "start on", "most km/h", "level km/h", "0 to 100 km/h")
    for one in (motor, engine):
        if one is None:
            continue
        for row in one.gears:
            table.add_row(
                f"{one.name}, gear {row.gear} ({row.ratio:.2f})",
                f"{row.force:.0f}" + (" spins" if row.spins else ""),
                f"{row.axle_torque:.0f}",
                f"{100 * row.slope:.0f} %",
                f"{row.limit:.0f}",
                f"{row.top:.0f}",
                "-" if row.time is None else f"{row.time:.1f} s",
            )
        changes = f" ({one.shifts} changes)" if one.shifts else ""
        best = "-" if one.time is None else f"{one.time:.1f} s{changes}"
        table.add_row(f"{one.name}, best", "", "", "", "", f"{one.top:.0f}", best, style="bold")
    return table


def render_moved(moved: Moved) -> tuple["Table", "Table"]:
    """Return what changed in the car, and the things behind it."""
    shifts = _table("What moved", "", "was", "is", "change")
    for s in moved.shifts:
        digits = 1 if s.unit in ("%", "points of %") else 0
        change = "" if s.change is None else _figure(s.change, digits, signed=True)
        shifts.add_row(f"{s.name}, {s.unit}", _figure(s.old, digits), _figure(s.new, digits), change)
    things = _table("because of", "what", "", "kg", "X, mm", "Y, mm", "Z, mm", "on the front axle, kg")
    for t in moved.things:
        by = ("" if d is None else f"{d:+.0f}" for d in t.by)
        things.add_row(t.name, t.what, f"{t.mass:+.1f}", *by, f"{t.share:+.1f}")
    return shifts, things
