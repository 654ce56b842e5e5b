"""The pack that modules in boxes make: strings, voltages, energy, currents, and the cables between its boxes."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from baywright.job.drive import Controller, PackAsk
from baywright.job.parts import Electrical

# Cable along a car goes round corners: this times the straight steps along X, Y and Z, and ends to make off, mm.
RUN_FACTOR = 1.15
RUN_ENDS = 600.0
RUN_SOURCE = "common practice, no source: 1.15 times the steps along X, Y and Z, and 0.6 m to make off"
# Copper at 60 °C, ohm·mm²/m: 0.01724 at 20 °C (IEC 60028) times 1 + 0.00393 · 40.
COPPER = 0.01724 * (1 + 0.00393 * 40)


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxLoad:
    """A box with modules: its name, how many, and where its service end is (vehicle frame, mm) if it matters."""

    name: str
    count: int
    at: tuple[float, float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """A power cable between two places: names, and length in metres."""

    first: str
    second: str
    metres: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sense:
    """What watches a box's cells: the box, its sense wires, and how long each runs outside the box, m; None unknown."""

    box: str
    wires: int
    metres: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    """A pack.

    Attributes:
        modules: in all.
        in_series: modules in series in each string.
        strings: in parallel.
        full: V, full.
        nominal: V.
        cutoff: V, empty.
        sagged: V at nominal state of charge under the controller's peak current; None without a controller.
        capacity: Ah.
        energy: kWh at nominal voltage.
        usable: kWh.
        resistance: ohm, modules and links.
        short_circuit: A, full, into a dead short at the terminals.
        continuous: A in each module at the controller's continuous current; None without a controller.
        peak: A in each module at its peak current; None without a controller.
        places: for each string, how many of its modules are in which box.
        links: power cables between boxes and to the controller.
        senses: what watches the cells of each box.
    """

    modules: int
    in_series: int
    strings: int
    full: float
    nominal: float
    cutoff: float
    sagged: float | None
    capacity: float
    energy: float
    usable: float
    resistance: float
    short_circuit: float
    continuous: float | None
    peak: float | None
    places: tuple[tuple[tuple[str, int], ...], ...]
    links: tuple[Link, ...]
    senses: tuple[Sense, ...] = ()

    @property
    def crossing(self) -> tuple[int, ...]:
        """Strings (from 1) whose modules are in more than one box."""
        return tuple(i for i, boxes in enumerate(self.places, 1) if len(boxes) > 1)


def cable_resistance(links: Sequence[Link], ask: PackAsk) -> float:
    """Return the resistance in ohm of the power cables of one string, out and back; 0 without a cable."""
    return 0.0 if ask.cable is None else COPPER * sum(link.metres for link in links) / ask.strings / ask.cable.area


def pack_of(module: Electrical, boxes: Sequence[BoxLoad], ask: PackAsk) -> Pack:
    """Return the pack that equal modules in boxes make.

    Raises:
        ValueError: if there is no module, or they can't be shared out equally to the strings.
    """
    boxes = [b for b in boxes if b.count > 0]
    modules = sum(b.count for b in boxes)
    if not modules:
        raise ValueError("no box holds a module")
    if modules % ask.strings:
        near = [n for n in (modules - modules % ask.strings, modules + ask.strings - modules % ask.strings) if n]
        raise ValueError(
            f"{modules} modules can't make {ask.strings} equal strings: take {' or '.join(map(str, near))} modules"
        )
    in_series = modules // ask.strings
    places = share_out([(b.name, b.count) for b in boxes], in_series)
    links = links_of(places, {b.name: b.at for b in boxes}, ask.controller)
    full, nominal, cutoff = (
        in_series * v for v in (module.full_voltage, module.nominal_voltage, module.cutoff_voltage)
    )
    # Each string has its own way out and back: of all the cable it carries its share.
    wire = cable_resistance(links, ask)
    resistance = (in_series * module.resistance_mohm / 1000 + wire) / ask.strings
    capacity = module.capacity * ask.strings
    energy = nominal * capacity / 1000
    control = ask.controller
    return Pack(
        modules=modules,
        in_series=in_series,
        strings=ask.strings,
        full=full,
        nominal=nominal,
        cutoff=cutoff,
        sagged=None if control is None else nominal - control.count * control.peak_current * resistance,
        capacity=capacity,
        energy=energy,
        usable=energy * ask.usable,
        resistance=resistance,
        short_circuit=full / resistance,
        continuous=None if control is None else control.count * control.continuous_current / ask.strings,
        peak=None if control is None else control.count * control.peak_current / ask.strings,
        places=places,
        links=links,
        senses=senses_of(module, boxes, ask),
    )


def senses_of(module: Electrical, boxes: Sequence[BoxLoad], ask: PackAsk) -> tuple[Sense, ...]:
    """Return the sense wires of each box: of n cell groups in series a module needs n + 1.

    With one board for all they run from the box's service end to it; else each box has its own board and they stay in.
    """
    found = []
    for box in boxes:
        metres: float | None = 0.0
        if ask.monitor is not None:
            metres = None if box.at is None else run_metres(box.at, ask.monitor)
        found.append(Sense(box=box.name, wires=box.count * (module.series + 1), metres=metres))
    return tuple(found)


def run_metres(first: Sequence[float], second: Sequence[float]) -> float:
    """Return how long a cable between two places (mm) is, m."""
    return (RUN_FACTOR * sum(abs(i - j) for i, j in zip(first, second, strict=True)) + RUN_ENDS) / 1000


def share_out(boxes: Sequence[tuple[str, int]], in_series: int) -> tuple[tuple[tuple[str, int], ...], ...]:
    """Return for each string of `in_series` modules how many of them are in which box.

    Each box first fills as many whole strings as it can; what is left over makes strings that cross, box by box in the
    order given.
    """
    whole = [((name, in_series),) for name, count in boxes for _ in range(count // in_series)]
    left = [(name, count % in_series) for name, count in boxes if count % in_series]
    crossing: list[tuple[tuple[str, int], ...]] = []
    here: list[tuple[str, int]] = []
    need = in_series
    for name, count in left:
        while count:
            taken = min(count, need)
            here.append((name, taken))
            count, need = count - taken, need - taken
            if not need:
                crossing.append(tuple(here))
                here, need = [], in_series
    return (*whole, *crossing)


def links_of(
    places: Sequence[Sequence[tuple[str, int]]],
    at: dict[str, tuple[float, float, float] | None],
    control: Controller | None,
) -> tuple[Link, ...]:
    """Return the power cables of every string: out from the controller, from box to box, and back.

    Boxes whose place is not known, and the controller if its place is not, are left out.
    """
    found = []
    home = None if control is None else control.at
    for boxes in places:
        way = [(name, at[name]) for name, _ in boxes]
        if home is not None:
            way = [("controller", home), *way, ("controller", home)]
        for (a, p), (b, q) in pairwise(way):
            if p is not None and q is not None:
                found.append(Link(first=a, second=b, metres=run_metres(p, q)))
    return tuple(found)
