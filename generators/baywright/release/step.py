"""STEP files: one for each made part, and one for the assembly in which equal parts are one shape in many places."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from OCP.APIHeaderSection import APIHeaderSection_MakeHeader
from OCP.IFSelect import IFSelect_RetDone
from OCP.Interface import Interface_Static
from OCP.Message import Message, Message_Alarm
from OCP.STEPCAFControl import STEPCAFControl_Controller, STEPCAFControl_Writer
from OCP.STEPControl import STEPControl_AsIs
from OCP.TCollection import TCollection_ExtendedString, TCollection_HAsciiString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label
from OCP.TDocStd import TDocStd_Document
from OCP.TopoDS import TopoDS_Shape
from OCP.XCAFDoc import XCAFDoc_DocumentTool

from baywright.piece.numbering import Part, slug
from baywright.release.colours import colour_of
from baywright.release.fault import ReleaseFault
from baywright.release.solid import location, solid
from baywright.release.steptext import Colour, coloured, tidied
from baywright.shape.pose import Pose, shifted

# STEP asks for a date in its header; a fixed one lets equal designs give equal files.
_DATE = "2000-01-01T00:00:00"


@dataclass(frozen=True, eq=False)
class Product:
    """A product of a STEP file: a shape, or an assembly of other products in their places.

    Attributes:
        name: the product's name; a part's is its number.
        shape: of a part; None for an assembly.
        colour: of a part, red, green, blue from 0 to 1.
        places: of an assembly: (occurrence's name, product, pose).
    """

    name: str
    shape: TopoDS_Shape | None = None
    colour: Colour = (0.7, 0.7, 0.7)
    places: tuple[tuple[str, "Product", Pose], ...] = ()


def step_name(part: Part, revision: str) -> str:
    """Return a part's STEP file name."""
    return f"{part.number}_rev{slug(revision)}.step"


def product(part: Part) -> Product:
    """Return a part as a product, its body drawn in its own frame.

    Raises:
        ReleaseFault: if the kernel cannot draw it.
    """
    try:
        return Product(part.number, solid(part.piece), colour_of(part.piece))
    except ValueError as wrong:
        raise ReleaseFault(part.number, f"cannot be drawn as a solid: {wrong}") from wrong


def assembly_product(name: str, parts: Sequence[Part], products: dict[str, Product] | None = None) -> Product:
    """Return an assembly as a product: made parts in it, bought things in a sub-assembly "<name>-bought" of their own.

    Args:
        name: the assembly's name.
        parts: its parts; those without a body (liquids, allowances) are left out.
        products: parts already drawn, by number.
    """
    drawn = products or {}
    made: list[tuple[str, Product, Pose]] = []
    bought: list[tuple[str, Product, Pose]] = []
    for part in parts:
        if not part.piece.bodies():
            continue
        one = drawn.get(part.number) or product(part)
        (made if part.made else bought).extend((mark, one, pose) for mark, pose in part.occurrences)
    places = tuple(made)
    if bought:
        apart = Product(f"{slug(name)}-bought", places=tuple(bought))
        places = (*places, ("bought", apart, shifted()))
    return Product(slug(name), places=places)


def write_step(top: Product, path: Path) -> Path:
    """Write a product and all it is made of as AP214 in millimetres, and return the path.

    Equal designs give equal bytes, in a fresh process or the same one.

    Raises:
        ReleaseFault: if the kernel refuses to write it.
    """
    _settle()
    document = TDocStd_Document(TCollection_ExtendedString("BinXCAF"))
    shapes = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    colours: dict[str, Colour] = {}
    labels: dict[int, TDF_Label] = {}

    def label_of(item: Product) -> TDF_Label:
        if id(item) in labels:
            return labels[id(item)]
        if item.shape is not None:
            label = shapes.AddShape(item.shape, False)
            colours[item.name] = item.colour
        else:
            label = shapes.NewShape()
            for mark, inner, pose in item.places:
                _name(shapes.AddComponent(label, label_of(inner), location(pose)), mark)
        _name(label, item.name)
        labels[id(item)] = label
        return label

    label_of(top)
    shapes.UpdateAssemblies()
    writer = STEPCAFControl_Writer()
    writer.SetColorMode(False)
    writer.SetNameMode(True)
    if not writer.Transfer(document, STEPControl_AsIs):
        raise ReleaseFault(path.name, "the CAD kernel could not translate it")
    header = APIHeaderSection_MakeHeader(writer.ChangeWriter().Model())
    header.SetName(TCollection_HAsciiString(path.name))
    header.SetTimeStamp(TCollection_HAsciiString(_DATE))
    header.SetAuthorValue(1, TCollection_HAsciiString(""))
    header.SetOrganizationValue(1, TCollection_HAsciiString(""))
    header.SetOriginatingSystem(TCollection_HAsciiString("baywright"))
    if writer.Write(str(path)) != IFSelect_RetDone:
        raise ReleaseFault(path.name, "the CAD kernel could not write it: is the disk full?")
    path.write_bytes(coloured(tidied(path.read_text("utf-8")), colours).encode("ascii"))
    return path


def _name(label: TDF_Label, text: str) -> None:
    TDataStd_Name.Set_s(label, TCollection_ExtendedString(text, True))


def _settle() -> None:
    """Set what the kernel's writer keeps for the whole process: millimetres, AP214, no curves doubled on faces.

    Set before every file: others in the process (cadquery's own exporter) set these too.
    """
    _start()
    Interface_Static.SetIVal_s("write.surfacecurve.mode", 0)
    Interface_Static.SetIVal_s("write.step.assembly", 1)
    Interface_Static.SetIVal_s("write.precision.mode", 0)
    Interface_Static.SetCVal_s("write.step.schema", "AP214IS")
    Interface_Static.SetCVal_s("write.step.unit", "MM")


@cache
def _start() -> None:
    """Load the writer's settings and silence its chatter, once a process."""
    for printer in Message.DefaultMessenger_s().Printers():
        printer.SetTraceLevel(Message_Alarm)
    STEPCAFControl_Controller.Init_s()
