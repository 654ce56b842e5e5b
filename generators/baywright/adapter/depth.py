"""The depth stack: what lies where along the shaft, how thick the plates must be, and how sure that is.

Distances count from the motor's face, positive towards the gearbox, in mm. The plates' total thickness is where the
bell's face lies.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from baywright.finding import CannotBuild
from baywright.job.adapters import AdapterAsk, Coupler, GearboxRow, MotorRow
from baywright.job.units import Measured

# A thickness that meets a demand by less than this meets it: rounding, mm.
_EXACT = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One demand on the stack.

    Attributes:
        name: what is asked for, in the trade's words.
        value: nominal, mm.
        worst: how far it may be off if every part is at its limit, mm.
        likely: the same as the root of the sum of squares, mm.
        least: least that is allowed, mm; None if there is none.
        most: most that is allowed, mm; None if there is none.
        source: whose limit it is.
    """

    name: str
    value: float
    worst: float
    likely: float
    least: float | None
    most: float | None
    source: str

    def room(self, off: float) -> float:
        """Return how far inside its limits it stays when it is `off` mm out; negative beyond them."""
        below = math.inf if self.least is None else self.value - off - self.least
        above = math.inf if self.most is None else self.most - self.value - off
        return min(below, above)


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A part of the diagram: from and to along the shaft, and its radius at either edge, mm."""

    name: str
    start: float
    end: float
    inner: float
    outer: float
    kind: str


@dataclass(frozen=True, eq=False, kw_only=True)
class DepthStack:
    """A stack of plates that meets its demands as well as the stock allows.

    Attributes:
        layers: thickness of each plate or ring, from the motor on, mm.
        tolerance: how far each may be off, mm.
        checks: the demands; none if nothing but a thickness was asked.
        spans: for the diagram.
    """

    layers: tuple[float, ...]
    tolerance: float
    checks: tuple[Check, ...] = ()
    spans: tuple[Span, ...] = field(default=())

    @property
    def thickness(self) -> float:
        """From the motor's face to the bell's, mm."""
        return sum(self.layers)


Values = Mapping[str, NDArray[np.float64] | float]


@dataclass(frozen=True, eq=False)
class Chain:
    """Everything that the depth stack counts from, each with its tolerance, and the demands that follow."""

    ask: AdapterAsk
    motor: MotorRow
    gearbox: GearboxRow
    coupler: Coupler

    def given(self) -> dict[str, Measured]:
        """Return every measured distance by name.

        Raises:
            CannotBuild: if the gearbox lacks one that is needed.
        """
        c, g = self.coupler, self.gearbox
        if g.nose_out is None or g.spline_out is None or g.spline_length is None:
            raise CannotBuild(
                "gearbox",
                f"the depth stack needs nose_out, spline_out and spline_length of gearbox '{g.name}': measure them "
                "from the bell's face, or give a thickness and no coupler",
            )
        found = {
            "shaft": self.motor.shaft.length,
            "seat": c.seat,
            "coupler": c.length,
            "bore": c.bore_depth,
            "nose": g.nose_out,
            "spline": g.spline_out,
        }
        if c.pilot is not None:
            found["inset"] = c.pilot.inset
        if c.flywheel is not None:
            found["flywheel"] = c.flywheel.face
        return found

    def demands(self) -> list[tuple[str, Callable[[Values], NDArray[np.float64]], float | None, float | None, str]]:
        """Return each demand: name, its value from all distances, least, most, source."""
        c, g, ask = self.coupler, self.gearbox, self.ask
        practice = "common practice, no source"
        spline = g.spline_length or 0.0

        def end_gap(v: Values) -> NDArray[np.float64]:
            floor = np.maximum(v["seat"] + v["coupler"] - v["bore"], v["shaft"])
            return np.asarray(v["stack"] - v["nose"] - floor)

        def engaged(v: Values) -> NDArray[np.float64]:
            end, start = v["seat"] + v["coupler"], v["stack"] - v["spline"]
            return np.asarray(np.minimum(end, start + spline) - np.maximum(end - c.spline_length, start))

        found: list[tuple[str, Callable[[Values], NDArray[np.float64]], float | None, float | None, str]] = [
            ("gap before the nose", end_gap, ask.end_gap[0], ask.end_gap[1], "asked; 3 to 5 mm is common practice"),
            ("spline engagement", engaged, ask.spline_least, None, f"asked; {practice}"),
        ]
        bearing = c.pilot
        if bearing is not None:
            journal = g.nose_length or math.inf

            def held(v: Values) -> NDArray[np.float64]:
                near = v["seat"] + v["coupler"] - v["inset"]
                nose = v["stack"] - v["nose"]
                return np.asarray(np.minimum(near, nose + journal) - np.maximum(near - bearing.width, nose))

            found.append(("nose in the pilot bearing", held, ask.pilot_least, None, f"asked; {practice}"))
        wheel = c.flywheel
        if wheel is not None:
            low, high = (wheel.setting.value + s * (wheel.setting.tolerance or 0.25) for s in (-1, 1))
            found.append(
                (
                    "flywheel setting",
                    lambda v: np.asarray(v["seat"] + v["flywheel"] - v["stack"]),
                    low,
                    high,
                    "asked; ±0.25 mm is a builder's figure",
                )
            )
        return found

    def checks(self, layers: tuple[float, ...]) -> tuple[Check, ...]:
        """Return every demand for one stack of plates, with its tolerance worst case and likely."""
        given, off = self.given(), self.ask.stock_tolerance
        nominal: dict[str, float] = {name: m.value for name, m in given.items()}
        nominal["stack"] = sum(layers)
        # Each plate is off by itself; together they are off by the sum at worst.
        tolerance: list[tuple[str, float]] = [(name, m.tolerance) for name, m in given.items() if m.tolerance]
        tolerance += [("stack", off) for _ in layers if off]
        found = []
        for name, value, least, most, source in self.demands():
            base = float(value(nominal))
            moves = [
                max(abs(float(value({**nominal, key: nominal[key] + sign * t})) - base) for sign in (-1, 1))
                for key, t in tolerance
            ]
            found.append(
                Check(
                    name=name,
                    value=base,
                    worst=sum(moves),
                    likely=math.sqrt(sum(m * m for m in moves)),
                    least=least,
                    most=most,
                    source=source,
                )
            )
        return tuple(found)


def fitting_stacks(chain: Chain, stacks: list[tuple[float, ...]]) -> list[tuple[float, ...]]:
    """Return the stacks that meet every demand nominally, those with the most room at their worst first.

    Raises:
        CannotBuild: if none does; the sentence says which thickness would, or which demands exclude each other.
    """
    given = {name: m.value for name, m in chain.given().items()}
    total = np.array([sum(s) for s in stacks])
    values: dict[str, NDArray[np.float64] | float] = {**given, "stack": total}
    good = np.ones(len(stacks), dtype=bool)
    for _, value, least, most, _ in chain.demands():
        v = value(values)
        good &= (v >= (-math.inf if least is None else least - _EXACT)) & (
            v <= (math.inf if most is None else most + _EXACT)
        )
    if not good.any():
        raise CannotBuild("stock", _why_none(chain, given, total))
    kept = [stacks[k] for k in np.nonzero(good)[0]]
    rooms = {s: min((c.room(c.worst) for c in chain.checks(s)), default=0.0) for s in kept}
    # A tenth of a millimetre of room is not worth another plate.
    return sorted(kept, key=lambda s: (-round(rooms[s], 1), len(s), sum(s)))


def _why_none(chain: Chain, given: Mapping[str, float], total: NDArray[np.float64]) -> str:
    """Return why no stack fits, and what would."""
    fine: NDArray[np.float64] = np.arange(0.0, 400.0, 0.1)
    values: dict[str, NDArray[np.float64] | float] = {**given, "stack": fine}
    good = np.ones(len(fine), dtype=bool)
    names: list[str] = []
    for name, value, least, most, _ in chain.demands():
        v = value(values)
        here = (v >= (-math.inf if least is None else least)) & (v <= (math.inf if most is None else most))
        if not here.any():
            best = float(v.max()) if least is not None and float(v.max()) < least else float(v.min())
            return f"no thickness gives the {name} that is asked: it reaches {best:.1f} mm at best; change the coupler"
        if not (good & here).any():
            return f"no thickness meets the {name} together with the {' and the '.join(names)}: change the coupler"
        good &= here
        names.append(name)
    low, high = float(fine[good].min()), float(fine[good].max())
    near = sorted(total.tolist(), key=lambda t: max(low - t, t - high))[0]
    return (
        f"the stack must be {low:.1f} to {high:.1f} mm thick; the nearest that the stock gives is {near:.1f} mm: "
        "choose another stock, widen end_gap, or give a thickness and have the plate machined to it"
    )


def spans_of(chain: Chain, layers: tuple[float, ...], radii: Mapping[str, float]) -> tuple[Span, ...]:
    """Return the parts of the diagram for a stack.

    Args:
        chain: what the stack counts from.
        layers: the plates, from the motor on, mm.
        radii: "bore", "plate" and "ring": radii of the plates' bore, their outside, and the ring's inside, mm.
    """
    c, g, m = chain.coupler, chain.gearbox, chain.motor
    found = [Span(name="motor", start=-60.0, end=0.0, inner=0.0, outer=m.diameter / 2, kind="motor")]
    found.append(
        Span(name="shaft", start=0.0, end=m.shaft.length.value, inner=0.0, outer=m.shaft.diameter / 2, kind="shaft")
    )
    here = 0.0
    names = ("plate",) if len(layers) == 1 else ("motor plate", "ring", "gearbox plate")
    for name, t in zip(names, layers, strict=True):
        inner = radii["ring"] if name == "ring" else radii["bore"]
        found.append(Span(name=name, start=here, end=here + t, inner=inner, outer=radii["plate"], kind="plate"))
        here += t
    start, end = c.seat.value, c.seat.value + c.length.value
    floor = max(end - c.bore_depth.value, m.shaft.length.value)
    found.append(
        Span(name="coupler", start=start, end=end, inner=m.shaft.diameter / 2, outer=c.diameter / 2, kind="coupler")
    )
    if c.pilot is not None:
        near = end - c.pilot.inset.value
        bearing = Span(
            name="pilot bearing",
            start=near - c.pilot.width,
            end=near,
            inner=(g.nose_diameter or m.shaft.diameter / 2) / 2,
            outer=m.shaft.diameter / 2,
            kind="bearing",
        )
        found.append(bearing)
    if c.flywheel is not None:
        face = start + c.flywheel.face.value
        found.append(
            Span(name="flywheel", start=face - 15, end=face, inner=c.diameter / 2, outer=c.diameter, kind="flywheel")
        )
    nose = here - (g.nose_out.value if g.nose_out else 0.0)
    spline = here - (g.spline_out.value if g.spline_out else 0.0)
    thin = (g.nose_diameter or 0.7 * m.shaft.diameter) / 2
    found += [
        Span(name="nose", start=nose, end=spline, inner=0.0, outer=thin, kind="input"),
        Span(
            name="spline",
            start=spline,
            end=spline + (g.spline_length or 0.0),
            inner=0.0,
            outer=m.shaft.diameter / 2 * 0.9,
            kind="spline",
        ),
        Span(name="gap", start=floor, end=nose, inner=0.0, outer=0.0, kind="gap"),
        Span(name="bell", start=here, end=here + g.flange, inner=g.opening / 2, outer=radii["plate"], kind="bell"),
    ]
    return tuple(found)
