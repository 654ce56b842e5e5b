"""Bolt patterns: holes, dowels and a pilot about one centre line, and the side that they are seen from.

The origin of every pattern is the shaft's centre line. x runs to the right and y up for somebody who stands on the
side that `seen_from` names and looks at the face. Angles are clock positions: degrees clockwise from the top, as that
person sees them. Seen from the other side the same hole has its x turned round: `Pattern.seen` is the only place where
that happens.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Side = Literal["motor", "gearbox"]
HoleKind = Literal["through", "tapped", "dowel"]

# Positions that differ by less are the same place when patterns are turned onto themselves: a drawing's rounding, mm.
SAME_PLACE = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class PatternHole:
    """One hole of a pattern.

    Attributes:
        name: unique in its pattern.
        x: mm to the right of the shaft's centre line.
        y: mm above it.
        kind: "through" (a bolt passes), "tapped" (a bolt is screwed into it) or "dowel".
        thread: of the bolt that it takes ("M10", "3/8-16"); "" for a dowel.
        diameter: the hole itself, mm: a through hole's bore, a dowel's nominal size, a thread's major diameter.
        position: diameter of the zone that its axis lies in, mm; 0 where the standard is silent.
        depth: full thread that a tapped hole offers, mm; 0 if not known.
    """

    name: str
    x: float
    y: float
    kind: HoleKind
    thread: str = ""
    diameter: float = 0.0
    position: float = 0.0
    depth: float = 0.0

    @property
    def radius(self) -> float:
        """Distance from the shaft's centre line, mm."""
        return math.hypot(self.x, self.y)

    @property
    def clock(self) -> float:
        """Degrees clockwise from the top, 0 … 360."""
        return math.degrees(math.atan2(self.x, self.y)) % 360


@dataclass(frozen=True, slots=True, kw_only=True)
class Pilot:
    """The centring step: a spigot (male) or a recess (female).

    Attributes:
        male: True if it stands out of the face.
        diameter: nominal, mm.
        fit: ISO 286 class ("j6", "H7"), or "" where `limits` say it.
        height: how far it stands out, or how deep it is, mm; 0 if not known.
        limits: least and most diameter, mm, where a standard gives them outright.
    """

    male: bool
    diameter: float
    fit: str = ""
    height: float = 0.0
    limits: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """Holes, dowels and pilot of one face.

    Attributes:
        name: what the trade calls it ("SAE J617 No. 3").
        holes: bolt holes and dowels.
        pilot: its centring step, or None.
        seen_from: the side that x and y are seen from.
        outer: outside diameter of the flange, mm; 0 if not known.
        run_out: full indicator movement that its standard allows for bore and face, mm; None if it is silent.
        source: where the figures are from.
    """

    name: str
    holes: tuple[PatternHole, ...]
    pilot: Pilot | None = None
    seen_from: Side
    outer: float = 0.0
    run_out: float | None = None
    source: str = ""

    @property
    def bolts(self) -> tuple[PatternHole, ...]:
        """The holes that bolts go through or into."""
        return tuple(h for h in self.holes if h.kind != "dowel")

    @property
    def dowels(self) -> tuple[PatternHole, ...]:
        """The dowel holes."""
        return tuple(h for h in self.holes if h.kind == "dowel")

    def positions(self) -> NDArray[np.float64]:
        """Return the positions (n, 2) mm of all holes, in their order."""
        return np.array([(h.x, h.y) for h in self.holes], dtype=float).reshape(-1, 2)

    def at(self, positions: NDArray[np.float64]) -> "Pattern":
        """Return the pattern with its holes at other positions (n, 2) mm."""
        pairs = zip(self.holes, positions.tolist(), strict=True)
        return replace(self, holes=tuple(replace(h, x=x, y=y) for h, (x, y) in pairs))

    def seen(self, side: Side) -> "Pattern":
        """Return the same holes as somebody on `side` sees them."""
        if side == self.seen_from:
            return self
        # 0.0 - x and not -x: a hole on the vertical keeps x = 0, which a drawing must not print as "-0.000".
        return replace(self, seen_from=side, holes=tuple(replace(h, x=0.0 - h.x) for h in self.holes))

    def turned(self, angle: float) -> "Pattern":
        """Return the pattern turned by `angle` degrees clockwise, as seen from its own side."""
        return self.at(turned_clockwise(self.positions(), angle))

    def symmetry(self) -> list[float]:
        """Return the clockwise turns in degrees, 0 first, that bring every hole onto a like one."""
        return symmetry(self)


def turned_clockwise(positions: NDArray[np.float64], angle: float | NDArray[np.float64]) -> NDArray[np.float64]:
    """Return positions (n, 2) mm turned by `angle` degrees clockwise about the origin; (k, n, 2) for k angles."""
    a = np.radians(np.asarray(angle, dtype=float))[..., None]
    c, s = np.cos(a), np.sin(a)
    x, y = positions[:, 0], positions[:, 1]
    return np.stack([c * x + s * y, c * y - s * x], axis=-1)


def bolt_circle(
    diameter: float,
    clocks: Sequence[float],
    *,
    kind: HoleKind,
    thread: str = "",
    hole: float = 0.0,
    position: float = 0.0,
    depth: float = 0.0,
    first: int = 1,
    prefix: str = "",
) -> tuple[PatternHole, ...]:
    """Return like holes on a circle of `diameter` mm at the given clock positions (degrees clockwise from the top).

    Args:
        diameter: of the bolt circle, mm.
        clocks: one a hole.
        kind: what the holes are.
        thread: of their bolts.
        hole: their diameter, mm.
        position: diameter of their position zone, mm.
        depth: full thread, mm.
        first: number of the first hole's name.
        prefix: put before the number ("D" for dowels).
    """
    return tuple(
        PatternHole(
            name=f"{prefix}{number}",
            # A nanometre: so that a hole on an axis is on it, and not 1e-15 beside it.
            x=round(diameter / 2 * math.sin(math.radians(clock)), 6) + 0.0,
            y=round(diameter / 2 * math.cos(math.radians(clock)), 6) + 0.0,
            kind=kind,
            thread=thread,
            diameter=hole,
            position=position,
            depth=depth,
        )
        for number, clock in enumerate(clocks, first)
    )


def evenly(count: int, first: float | None = None) -> list[float]:
    """Return `count` clock positions evenly round the circle.

    Without `first` the holes straddle the vertical centre line (the first at 180 / count degrees), as the flange
    standards have it.
    """
    start = 180.0 / count if first is None else first
    return [start + 360.0 * i / count for i in range(count)]


def symmetry(pattern: Pattern, tolerance: float = SAME_PLACE) -> list[float]:
    """Return the clockwise turns in degrees, 0 first, that bring every hole within `tolerance` mm of a like one."""
    where = pattern.positions()
    if not len(where):
        return [0.0]
    radius = np.hypot(where[:, 0], where[:, 1])
    kinds = [(h.kind, h.thread, round(h.diameter, 3)) for h in pattern.holes]
    alike = np.array([[a == b for b in kinds] for a in kinds])
    # One hole off the centre must land on a like hole: those turns are the only ones to try.
    lead = int(np.argmax(radius))
    if radius[lead] <= tolerance:
        return [0.0]
    clock = np.degrees(np.arctan2(where[:, 0], where[:, 1]))
    found = [0.0]
    for i in np.nonzero(alike[lead] & (abs(radius - radius[lead]) <= tolerance))[0]:
        angle = float((clock[i] - clock[lead]) % 360)
        if min(angle, 360 - angle) < 1e-6:
            continue
        gap = np.linalg.norm(turned_clockwise(where, angle)[:, None] - where[None], axis=2)
        if np.where(alike, gap, np.inf).min(axis=1).max() <= tolerance:
            found.append(angle)
    return sorted(found)


def spacing(positions: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the centre distances (n, n) mm between positions (n, 2), infinite on the diagonal."""
    gap: NDArray[np.float64] = np.linalg.norm(positions[:, None] - positions[None], axis=2)
    np.fill_diagonal(gap, np.inf)
    return gap
