"""The bill of materials and the mass ledger of an assembly: every line that the mass is made of, once."""

import json
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from baywright.piece.assembly import Assembly
from baywright.piece.bought import Bought
from baywright.piece.extrusion import Extrusion
from baywright.piece.numbering import Part
from baywright.piece.plate import Plate
from baywright.release.sawing import SAW_CUT, extrusions, saw_plan
from baywright.release.table import write_table
from baywright.shape.loop import bounds, perimeter
from baywright.shape.mass import KG_PER_MM3, MassProperties, combine

# Adhesive that is squeezed out, left in the nozzle or used for witness coupons, as a share of what stays in the
# joints. Common practice, no source; a shop states its own.
SQUEEZE_OUT = 0.3

_HEAD = (
    "group",
    "number",
    "name",
    "material",
    "size",
    "quantity",
    "unit",
    "unit mass kg",
    "total mass kg",
    "note",
)
_SOFT = ("gasket", "liner")


@dataclass(frozen=True, slots=True, kw_only=True)
class BomLine:
    """One line of a bill of materials.

    Attributes:
        group: the list that it stands in.
        number: its part number, or "".
        name: what it is or what to order.
        material: the material's name.
        size: as a cut list says it.
        quantity: how many, or how much, in `unit`.
        unit: "pcs", "ml", "m", "m2", "bars".
        unit_mass: kg each; None where the line only says what to buy for lines that are counted elsewhere.
        mass: kg in all; None likewise.
        note: source or remark.
    """

    group: str
    number: str
    name: str
    material: str = ""
    size: str = ""
    quantity: float
    unit: str = "pcs"
    unit_mass: float | None = None
    mass: float | None = None
    note: str = ""


def bom(
    assembly: Assembly, parts: Sequence[Part], squeeze_out: float = SQUEEZE_OUT, saw_cut: float = SAW_CUT
) -> list[BomLine]:
    """Return an assembly's bill of materials; the masses of its lines add up to the assembly's mass.

    Lines without a mass say what to buy for lines that have one: adhesive with its waste, bars of stock, metres of
    gasket, square metres of liner.

    Args:
        assembly: the assembly.
        parts: its distinct parts.
        squeeze_out: adhesive bought beyond what stays in the joints, as a share of that.
        saw_cut: mm lost to each cut of the saw.
    """
    lines = [_part_line(part) for part in parts]
    lines += _adhesive_lines(assembly, squeeze_out)
    lines += _purchase_lines(parts, saw_cut)
    order = ("cut plates", "gasket", "liner", "extrusions", "bought", "screws", "adhesive")
    rank = {group: place for place, group in enumerate(order)}
    last = len(order)
    # Groups that a shop's own articles bring stand between the bought things and the screws.
    return sorted(
        lines, key=lambda n: (last, n.group) if n.group == "to buy" else (rank.get(n.group, rank["bought"] + 0.5), "")
    )


def _part_line(part: Part) -> BomLine:
    piece = part.piece
    each = piece.mass_properties().mass
    if isinstance(piece, Bought):
        group, material, name, note = piece.group, "", piece.name, "; ".join(filter(None, (piece.source, piece.note)))
    else:
        group, material, name, note = _made_group(piece), piece.material, piece.role, ""
    return BomLine(
        group=group,
        number=part.number,
        name=name,
        material=material,
        size="" if isinstance(piece, Bought) else piece.size_text(),
        quantity=part.quantity,
        unit_mass=each,
        mass=each * part.quantity,
        note=note,
    )


def _made_group(piece: Plate | Extrusion) -> str:
    if isinstance(piece, Extrusion):
        return "extrusions"
    return next((soft for soft in _SOFT if soft in piece.role.lower()), "cut plates")


def _adhesive_lines(assembly: Assembly, squeeze_out: float) -> list[BomLine]:
    volume: dict[tuple[str, float], float] = defaultdict(float)
    mass: dict[tuple[str, float], float] = defaultdict(float)
    for bond in assembly.bonds:
        kg = assembly.bond_mass(bond).mass
        mass[bond.adhesive, bond.density] += kg
        volume[bond.adhesive, bond.density] += kg / (bond.density * KG_PER_MM3)
    lines = []
    for (name, density), mm3 in volume.items():
        ml = mm3 / 1000
        count = sum(bond.adhesive == name and bond.density == density for bond in assembly.bonds)
        lines.append(
            BomLine(
                group="adhesive",
                number="",
                name=name,
                quantity=ml,
                unit="ml",
                unit_mass=mass[name, density] / ml,
                mass=mass[name, density],
                note=f"in {count} bond lines, after curing",
            )
        )
        lines.append(
            BomLine(
                group="to buy",
                number="",
                name=f"{name}, to buy",
                quantity=ml * (1 + squeeze_out),
                unit="ml",
                note=f"the joints' volume and {squeeze_out * 100:g} % for squeeze-out, nozzle and witness coupons",
            )
        )
    return lines


def _purchase_lines(parts: Sequence[Part], saw_cut: float) -> list[BomLine]:
    lines = []
    length: dict[str, float] = defaultdict(float)
    stock = {}
    for part, extrusion in extrusions(parts):
        length[extrusion.stock.name] += extrusion.length * part.quantity
        stock[extrusion.stock.name] = extrusion.stock
    plan = saw_plan(parts, saw_cut)
    for name in sorted(length):
        bars = [bar for bar in plan if bar.stock == name]
        size = f"{len(bars)} x {stock[name].stock_length:g} mm"
        note = f"{length[name] / 1000:.2f} m in all; see bars.csv"
        lines.append(
            BomLine(
                group="to buy",
                number="",
                name=name,
                material=stock[name].material,
                size=size,
                quantity=len(bars),
                unit="bars",
                note=note,
            )
        )
    return lines + _soft_lines(parts)


def _soft_lines(parts: Sequence[Part]) -> list[BomLine]:
    """Return what to buy of gasket by the length and of liner by the area, equal materials on one line."""
    amount: dict[tuple[str, str, str, str, str], float] = defaultdict(float)
    for part in parts:
        piece = part.piece
        if not isinstance(piece, Plate) or (group := _made_group(piece)) not in _SOFT:
            continue
        ring = next((h for h in piece.holes if h.line == "ring"), None)
        if ring is not None:
            x0, y0, x1, y1 = bounds(piece.outline)
            u0, v0, u1, v1 = bounds(ring.loop)
            wide = min(u0 - x0, v0 - y0, x1 - u1, y1 - v1)
            size, unit, note = (
                f"{wide:g} x {piece.thickness:g}",
                "m",
                "strip, thickness when compressed; if not cut whole",
            )
            # Strip laid round a frame: the mean of its outer and inner edge.
            each = (perimeter(piece.outline) + perimeter(ring.loop)) / 2 / 1000
        else:
            size, unit, note = f"{piece.thickness:g}", "m2", "area, without offcuts"
            each = piece.profile.area() * 1e-6
        amount[group, piece.material, size, unit, note] += each * part.quantity
    return [
        BomLine(
            group="to buy", number="", name=group, material=material, size=size, quantity=much, unit=unit, note=note
        )
        for (group, material, size, unit, note), much in amount.items()
    ]


def write_bom(lines: Sequence[BomLine], folder: Path) -> Path:
    """Write bom.csv and return its path."""
    rows = [
        (
            n.group,
            n.number,
            n.name,
            n.material,
            n.size,
            f"{n.quantity:.0f}" if n.unit in ("pcs", "bars") else f"{n.quantity:.3f}",
            n.unit,
            "" if n.unit_mass is None else f"{n.unit_mass:.6f}",
            "" if n.mass is None else f"{n.mass:.6f}",
            n.note,
        )
        for n in lines
    ]
    return write_table(folder / "bom.csv", _HEAD, rows)


def ledger(assembly: Assembly, parts: Sequence[Part]) -> list[tuple[str, int, MassProperties]]:
    """Return what the mass is made of, summed by part number: (number or adhesive, how many, mass properties)."""
    found = [
        (
            part.number,
            part.quantity,
            combine(part.piece.mass_properties().moved(pose) for _, pose in part.occurrences),
        )
        for part in parts
    ]
    bonds: dict[str, list[MassProperties]] = defaultdict(list)
    for bond in assembly.bonds:
        bonds[bond.adhesive].append(assembly.bond_mass(bond))
    return found + [(name, len(masses), combine(masses)) for name, masses in bonds.items()]


def write_mass(path: Path, name: str, frame: str, lines: Sequence[tuple[str, int, MassProperties]]) -> Path:
    """Write the mass, centroid and inertia of an assembly, or of a whole job, with the lines that it is made of.

    Args:
        path: the file to write.
        name: of the assembly or job.
        frame: in words: where its origin is and where its axes point.
        lines: (number, how many, mass properties in that frame).
    """
    whole = combine(properties for _, _, properties in lines)
    text = {
        "name": name,
        "frame": frame,
        "units": "kg, mm, kg mm2; inertia about the centroid, products of inertia with a minus sign",
        **_numbers(whole),
        "lines": [{"number": number, "quantity": count, **_numbers(one)} for number, count, one in lines],
    }
    path.write_text(json.dumps(text, indent=1, ensure_ascii=False) + "\n", encoding="utf-8", newline="\n")
    return path


def _numbers(properties: MassProperties) -> dict[str, object]:
    return {
        "mass": round(properties.mass, 9),
        "centroid": np.round(properties.centroid, 6).tolist(),
        "inertia": (np.round(properties.inertia, 3) + 0.0).tolist(),
    }
