"""The items of an adapter as its drawing numbers them: plates first, then bolts and pins."""

from dataclasses import dataclass

from baywright.adapter.build import MOTOR
from baywright.adapter.design import AdapterDesign
from baywright.piece.joint import Layer, ScrewLine
from baywright.piece.plate import Plate
from baywright.release.drawing.lines import Light


@dataclass(frozen=True, eq=False, slots=True)
class Item:
    """One line of the list of items.

    Attributes:
        number: from 1.
        count: how many.
        name: what it is, with its part number or its standard's name.
        holes: what the plates have for it, or a plate's material and thickness.
        mark: the plate's mark; "" for fasteners.
        line: the bolts or pins; None for plates.
    """

    number: int
    count: int
    name: str
    holes: str
    mark: str = ""
    line: ScrewLine | None = None


def items_of(design: AdapterDesign, subject: Light) -> list[Item]:
    """Return an adapter's items: plates and rings from the motor on, then each line of bolts and pins."""
    found: list[Item] = []
    numbers = {mark: part.number for part in subject.parts for mark, _ in part.occurrences}
    off = design.depth.tolerance
    for placed in design.assembly.placed:
        piece = placed.piece
        if placed.mark == MOTOR or not isinstance(piece, Plate):
            continue
        thick = f"{piece.thickness:g}" + (f" ±{off:g}" if off and placed.mark in _plates(design) else "")
        text = f"{piece.material}, {thick}, drawn as seen from {piece.seen_from}"
        name = f"{placed.mark}, {numbers[placed.mark]}"
        found.append(Item(len(found) + 1, 1, name, text, mark=placed.mark))
    for line in design.assembly.lines:
        name = line.screw.name if line.screw is not None else f"{line.size}, the car's own bolts"
        said = list(dict.fromkeys(_hole(layer) for layer in line.layers if layer.callout and layer.mark != MOTOR))
        found.append(Item(len(found) + 1, len(line.points), name, "; ".join(said), line=line))
    return found


def _hole(layer: Layer) -> str:
    """Return what a hole is, as the machinist is told it."""
    if layer.use == "tapped":
        return f"{layer.callout}, drill {layer.diameter:.1f}"
    return f"Ø{layer.diameter:g} {layer.callout}" if layer.use == "clearance" else layer.callout


def _plates(design: AdapterDesign) -> set[str]:
    return {at.mark for at in design.plates}
