"""STEP files read back, once by the CAD kernel and once as plain text, and compared with the design."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepGProp import BRepGProp
from OCP.GProp import GProp_GProps
from OCP.IFSelect import IFSelect_RetDone
from OCP.STEPCAFControl import STEPCAFControl_Reader
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label, TDF_LabelSequence
from OCP.TDocStd import TDocStd_Document
from OCP.TopAbs import TopAbs_SOLID
from OCP.TopExp import TopExp_Explorer
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS_Shape
from OCP.XCAFDoc import XCAFDoc_DocumentTool, XCAFDoc_ShapeTool

from baywright.piece.assembly import Piece
from baywright.piece.bought import Bought
from baywright.piece.extrusion import Extrusion
from baywright.piece.numbering import Part, slug
from baywright.piece.solid import Block
from baywright.release.fault import ReleaseFault
from baywright.release.steptext import count
from baywright.shape.mass import KG_PER_MM3

_SHARE = 1e-6  # of a volume
_NEAR = 1e-4  # mm: a centroid may differ by this


@dataclass(frozen=True, eq=False)
class ReadBody:
    """A product's body as the kernel read it: number of solids, volume mm³, centroid (3,) mm, sound or not."""

    solids: int
    volume: float
    centroid: NDArray[np.float64]
    sound: bool


@dataclass(frozen=True, eq=False)
class ReadStep:
    """A STEP file as the kernel read it: products with bodies by name, and each body's places in the whole."""

    top: str
    bodies: dict[str, ReadBody]
    places: list[tuple[str, str, NDArray[np.float64]]]  # (product, occurrence, centroid in the top product's frame)


def read_step(path: Path) -> ReadStep:
    """Return a STEP file read back.

    Raises:
        ReleaseFault: if it cannot be read, or holds more than one top product.
    """
    document = TDocStd_Document(TCollection_ExtendedString("BinXCAF"))
    reader = STEPCAFControl_Reader()
    reader.SetNameMode(True)
    reader.SetColorMode(False)
    if reader.ReadFile(str(path)) != IFSelect_RetDone or not reader.Transfer(document):
        raise ReleaseFault(path.name, "cannot be read back by the CAD kernel")
    free = TDF_LabelSequence()
    XCAFDoc_DocumentTool.ShapeTool_s(document.Main()).GetFreeShapes(free)
    if free.Length() != 1:
        raise ReleaseFault(path.name, f"holds {free.Length()} top products, not one")
    bodies: dict[str, ReadBody] = {}
    places: list[tuple[str, str, NDArray[np.float64]]] = []

    def walk(label: TDF_Label, mark: str, where: TopLoc_Location) -> None:
        name = _name(label)
        if XCAFDoc_ShapeTool.IsAssembly_s(label):
            inner = TDF_LabelSequence()
            XCAFDoc_ShapeTool.GetComponents_s(label, inner, False)
            for index in range(1, inner.Length() + 1):
                component, referred = inner.Value(index), TDF_Label()
                XCAFDoc_ShapeTool.GetReferredShape_s(component, referred)
                at = where.Multiplied(XCAFDoc_ShapeTool.GetLocation_s(component))
                walk(referred, _name(component), at)
            return
        if name not in bodies:
            bodies[name] = _measure(XCAFDoc_ShapeTool.GetShape_s(label))
        move = where.Transformation()
        matrix = np.array([[move.Value(r, c) for c in range(1, 5)] for r in range(1, 4)])
        places.append((name, mark, matrix[:, :3] @ bodies[name].centroid + matrix[:, 3]))

    walk(free.Value(1), "", TopLoc_Location())
    return ReadStep(_name(free.Value(1)), bodies, places)


def _name(label: TDF_Label) -> str:
    attribute = TDataStd_Name()
    return str(attribute.Get().ToExtString()) if label.FindAttribute(TDataStd_Name.GetID_s(), attribute) else ""


def _measure(shape: TopoDS_Shape) -> ReadBody:
    explorer, solids = TopExp_Explorer(shape, TopAbs_SOLID), 0
    while explorer.More():
        solids += 1
        explorer.Next()
    found = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, found)
    centre = np.array(found.CentreOfMass().Coord())
    return ReadBody(solids, float(found.Mass()), centre, bool(BRepCheck_Analyzer(shape).IsValid()))


def wanted_body(piece: Piece) -> ReadBody:
    """Return a piece's solids, volume (mm³) and centroid (mm) from profile arithmetic, without the kernel."""
    if isinstance(piece, Bought):
        volumes, centres = [], []
        for body in piece.bodies():
            if isinstance(body, Block):
                volumes.append(float(np.prod(body.high - body.low)))
                centres.append((body.low + body.high) / 2)
            else:
                volumes.append(float(np.pi / 4) * body.diameter**2 * body.length)
                centres.append(body.start + body.axis * body.length / 2)
        centroid = np.average(centres, axis=0, weights=volumes)
        return ReadBody(len(volumes), sum(volumes), centroid, True)
    properties = piece.mass_properties()
    density = piece.stock.density if isinstance(piece, Extrusion) else piece.density
    return ReadBody(1, properties.mass / (density * KG_PER_MM3), properties.centroid, True)


def check_part_step(path: Path, part: Part) -> None:
    """Compare a part's STEP file, read back, with the part: name, solids, volume, centroid, soundness.

    Raises:
        ReleaseFault: at the first thing that does not agree.
    """
    read = read_step(path)
    if read.top != part.number:
        raise ReleaseFault(path.name, f"its product is named '{read.top}', the part is '{part.number}'")
    _compare(path, part.number, read.bodies[part.number], wanted_body(part.piece))
    _check_text(path, [(part.number, "")], {part.number: 1})


def check_assembly_step(path: Path, name: str, parts: Sequence[Part]) -> None:
    """Compare an assembly's STEP file, read back, with its parts: products, occurrences and where each one stands.

    Raises:
        ReleaseFault: at the first thing that does not agree.
    """
    drawn = [part for part in parts if part.piece.bodies()]
    wanted = {part.number: wanted_body(part.piece) for part in drawn}
    read = read_step(path)
    if read.top != slug(name):
        raise ReleaseFault(path.name, f"its product is named '{read.top}', the assembly is '{slug(name)}'")
    if set(read.bodies) != set(wanted):
        odd = sorted(set(read.bodies) ^ set(wanted))
        raise ReleaseFault(path.name, f"its products are not the parts of the design: {', '.join(odd[:5])}")
    for number, body in wanted.items():
        _compare(path, number, read.bodies[number], body)
    places = {
        (part.number, mark): pose(wanted[part.number].centroid) for part in drawn for mark, pose in part.occurrences
    }
    if Counter((number, mark) for number, mark, _ in read.places) != Counter(places.keys()):
        raise ReleaseFault(path.name, f"holds {len(read.places)} occurrences, the design {len(places)}, or other names")
    for number, mark, centre in read.places:
        if np.abs(centre - places[number, mark]).max() > _NEAR:
            raise ReleaseFault(path.name, f"'{mark}' ({number}) stands at {np.round(centre, 3)}, not where it is drawn")
    _check_text(path, list(places), {number: body.solids for number, body in wanted.items()})


def _compare(path: Path, number: str, read: ReadBody, wanted: ReadBody) -> None:
    if read.solids != wanted.solids:
        raise ReleaseFault(path.name, f"{number}: {read.solids} solids in the file, {wanted.solids} in the design")
    if not read.sound:
        raise ReleaseFault(path.name, f"{number}: the CAD kernel finds its solid unsound")
    if not abs(read.volume - wanted.volume) <= _SHARE * wanted.volume:
        raise ReleaseFault(
            path.name, f"{number}: volume {read.volume:.6g} mm3 in the file, {wanted.volume:.6g} in the design"
        )
    if np.abs(read.centroid - wanted.centroid).max() > _NEAR:
        raise ReleaseFault(
            path.name, f"{number}: centroid {np.round(read.centroid, 4)} in the file, {np.round(wanted.centroid, 4)}"
        )


def _check_text(path: Path, places: Sequence[tuple[str, str]], solids: dict[str, int]) -> None:
    """Compare the file as plain text: what another reader than the kernel will find in it."""
    text = count(path.read_text("ascii"))
    if len(set(text.products)) != len(text.products):
        raise ReleaseFault(path.name, "two of its products have one name")
    if {name: n for name, n in text.solids.items() if n} != solids:
        raise ReleaseFault(path.name, "its solids, counted in the text, are not the parts of the design")
    used = Counter(number for number, mark in places if mark)
    if {name: n for name, n in text.occurrences.items() if name in solids} != dict(used):
        raise ReleaseFault(path.name, "its occurrences, counted in the text, are not those of the design")
