"""How tight: the torque for a line of screws, from what the screw and its thread in thin metal may bear."""

import math
import re
from dataclasses import dataclass

from baywright.job.adapters import BoltSize
from baywright.job.catalogue import Catalogue
from baywright.job.shop import ScrewSize
from baywright.piece.assembly import Assembly
from baywright.piece.bought import Bought
from baywright.piece.joint import ScrewLine
from baywright.rail.shop import crush_load

NUT_FACTOR = 0.2  # dry, plain or zinc plated: the K of T = K F d (Shigley's Mechanical Engineering Design, from memory)
PROOF_SHARE = 0.75  # of the proof load, for joints that are undone again (the same)
STRIP_SHARE = 0.5  # of what a thread in thin metal holds before it strips: common practice, no source
SHEAR_SHARE = 0.6  # shear strength of aluminium by its tensile strength (EN 1999-1-1, from memory)
SOURCE = "T = K F d, K 0.2, F at most 75 % of proof (ISO 898-1) and half of what the tapped thread holds"


@dataclass(frozen=True, slots=True)
class Tight:
    """How a line of screws is tightened.

    Attributes:
        torque: N·m; None where a sheet of somebody else's decides (an insert, a bolt of the car).
        preload: N; None likewise.
        why: what limits it, in words.
    """

    torque: float | None
    preload: float | None
    why: str

    @property
    def told(self) -> str:
        """The torque as every paper writes it, N·m; "" where somebody else's sheet decides."""
        return "" if self.torque is None else f"{self.torque:.1f}"


def tighten(line: ScrewLine, assembly: Assembly, catalogue: Catalogue) -> Tight:
    """Return the torque for a line's screws.

    Args:
        line: the screws.
        assembly: where they are.
        catalogue: the shop's tables of screws and materials.
    """
    if line.tight_by:
        return Tight(None, None, line.tight_by)
    if line.screw is None:
        return Tight(None, None, "a bolt of the car: by the car's manual")
    if any(role in line.screw.name for role in ("pin", "dowel")):
        return Tight(None, None, "a pin: pressed home, not tightened")
    row = _row(line, catalogue)
    if row is None:
        return Tight(None, None, f"no thread {line.size} in the tables: by its maker's sheet")
    d = line.diameter
    said = re.search(r"(?:class|grade) (\d+(?:\.\d+)?)", line.screw.name)
    grade = said.group(1) if said and said.group(1) in row.proof_load else next(iter(row.proof_load))
    load = PROOF_SHARE * row.proof_load[grade]
    why = f"75 % of the proof load of {line.size}, {'grade' if '.' not in grade else 'class'} {grade}"
    tapped = next((layer for layer in line.layers if layer.use == "tapped"), None)
    if any(extra.piece.role == "insert" for extra in line.along):
        return Tight(None, None, "into an insert: by the insert maker's sheet")
    if tapped is not None:
        piece = assembly.by_mark[tapped.mark].piece
        if isinstance(piece, Bought):
            if piece.role != "module":
                most = NUT_FACTOR * load * d / 1000
                return Tight(
                    None, None, f"into the {piece.role}'s own thread: by its maker's sheet, {most:.1f} at most"
                )
            return Tight(NUT_FACTOR * load * d / 1000, load, why)
        strength = _tensile(catalogue, piece.material, piece.thickness)
        if strength is None:
            return Tight(None, None, f"no strength of {piece.material} in the table: by trial on an offcut")
        deep = min(tapped.depth or piece.thickness, line.length)
        held = strip_load(d, row.pitch, row.pitch_diameter, deep, SHEAR_SHARE * strength)
        if STRIP_SHARE * held < load:
            load, why = STRIP_SHARE * held, f"half of what {deep:g} mm of thread in {piece.material} holds"
    if any(extra.piece.role.endswith("crush tube") for extra in line.along) and crush_load(line.size) < load:
        load, why = crush_load(line.size), "what its crush tube takes without getting shorter"
    return Tight(NUT_FACTOR * load * d / 1000, load, why)


def _row(line: ScrewLine, catalogue: Catalogue) -> ScrewSize | BoltSize | None:
    """Return the table's row of a line's thread, small screw or large bolt; None if there is none."""
    for kind in ("screw", "bolt"):
        if line.size in catalogue.raw[kind]:
            row = catalogue.row(kind, line.size)
            assert isinstance(row, ScrewSize | BoltSize)
            return row
    return None


def strip_load(d: float, pitch: float, d2: float, engaged: float, shear: float) -> float:
    """Return what an internal thread holds before it strips, N (Alexander, VDI 2230, nominal diameters; from memory).

    Args:
        d: nominal diameter, mm.
        pitch: mm.
        d2: pitch diameter, mm.
        engaged: length of thread engaged, mm.
        shear: shear strength of the metal, MPa.
    """
    return math.pi * d * engaged / pitch * (pitch / 2 + (d - d2) / math.sqrt(3)) * shear


def _tensile(catalogue: Catalogue, material: str, thickness: float) -> float | None:
    """Return the least tensile strength that the table has for a metal at a thickness, MPa."""
    if material not in catalogue.raw["material"]:
        return None
    rows = catalogue.material(material).strengths
    fitting = [s.f_ultimate for s in rows if s.thickness_most is None or s.thickness_most >= thickness - 1e-9]
    return min(fitting, default=None)
