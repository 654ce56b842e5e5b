"""A box's solids from the CAD kernel against the generator's own arithmetic: mass three ways, no shared space."""

import pytest

from baywright.box.generate import BoxDesign, generate
from baywright.piece.bought import Bought
from baywright.piece.numbering import distinct
from baywright.piece.scene import scene
from baywright.piece.solid import Block

from .conftest import ask_for


def _design(carry: str, flange: str, catalogue: object) -> BoxDesign:
    from .conftest import Bench

    style = catalogue.style("workshop").model_copy(update={"flange": flange})  # type: ignore[attr-defined]
    ask = ask_for(count=2, carry=carry, fittings=[{"fitting": "breather-m12"}, {"fitting": "earth-stud-m8"}])
    return generate("two", ask, Bench(catalogue, None, style))  # type: ignore[arg-type]


@pytest.mark.parametrize(("carry", "flange"), [("ledges", "in"), ("tie rods", "out")])
def test_mass_by_profiles_by_solids_and_by_the_bill_of_materials(carry: str, flange: str, catalogue: object) -> None:
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    from baywright.release.bom import bom
    from baywright.release.solid import solid

    design = _design(carry, flange, catalogue)
    parts = distinct(design.assembly)
    by_profile = by_solid = 0.0
    for part in parts:
        piece = part.piece
        if isinstance(piece, Bought):
            continue
        properties = GProp_GProps()
        BRepGProp.VolumeProperties_s(solid(piece), properties)
        density = piece.stock.density if hasattr(piece, "stock") else piece.density
        by_solid += properties.Mass() * density * 1e-9 * len(part.occurrences)
        by_profile += piece.mass_properties().mass * len(part.occurrences)
    assert by_solid == pytest.approx(by_profile, rel=1e-6)
    listed = sum(line.mass or 0.0 for line in bom(design.assembly, parts))
    assert listed == pytest.approx(design.mass_properties.mass, rel=1e-9)


@pytest.mark.parametrize(("carry", "flange"), [("ledges", "in"), ("tie rods", "out")])
def test_no_two_solids_share_space_by_the_kernel(carry: str, flange: str, catalogue: object) -> None:
    """Every pair whose enclosing blocks touch is cut with the kernel: the exact test that the quick one stands for."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Common
    from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    from baywright.release.solid import location, solid

    design = _design(carry, flange, catalogue)
    view = scene(design.assembly)
    shapes = {}
    pieces = [p for p in design.assembly.placed if p.piece.bodies()]
    for item in pieces:
        shape = solid(item.piece)
        shapes[item.mark] = BRepBuilderAPI_Transform(shape, location(item.pose).Transformation(), True).Shape()
    blocks = {p.mark: p.blocks() for p in pieces}
    compared = 0
    for i, a in enumerate(pieces):
        for b in pieces[i + 1 :]:
            if not any(_near(x, y) for x in blocks[a.mark] for y in blocks[b.mark]):
                continue
            common = BRepAlgoAPI_Common(shapes[a.mark], shapes[b.mark]).Shape()
            properties = GProp_GProps()
            BRepGProp.VolumeProperties_s(common, properties)
            assert properties.Mass() < 1e-3, (a.mark, b.mark, properties.Mass())
            compared += 1
    assert compared > 20
    assert len(view.bodies) > len(pieces)


def _near(a: Block, b: Block) -> bool:
    return bool(((a.low < b.high + 0.01) & (b.low < a.high + 0.01)).all())
