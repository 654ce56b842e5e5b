"""Solids and STEP files: against profile arithmetic, another mesher, and a reader that knows no geometry."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright.piece.extrusion import Extrusion, Stock
from baywright.piece.numbering import distinct, made_parts
from baywright.piece.plate import Plate
from baywright.piece.solid import Hole
from baywright.release.fault import ReleaseFault

pytest.importorskip("OCP")

from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepGProp import BRepGProp
from OCP.GProp import GProp_GProps
from OCP.TopAbs import TopAbs_ShapeEnum

from baywright.release import solid as solids
from baywright.release.mesh import mesh
from baywright.release.step import Product, assembly_product, product, step_name, write_step
from baywright.release.steptext import count
from baywright.release.verify_step import check_assembly_step, check_part_step, read_step
from baywright.shape.loop import circle, rectangle
from baywright.shape.pose import shifted


def properties(shape):
    found = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, found)
    return found


def density(piece):
    return piece.stock.density if hasattr(piece, "stock") else piece.density


def inertia(found):
    m = found.MatrixOfInertia()
    return np.array([[m.Value(r, c) for c in (1, 2, 3)] for r in (1, 2, 3)])


def check_solid(piece):
    shape = solids.solid(piece)
    assert shape.ShapeType() == TopAbs_ShapeEnum.TopAbs_SOLID
    assert BRepCheck_Analyzer(shape).IsValid()
    found, wanted = properties(shape), piece.mass_properties()
    rho = density(piece) * 1e-9
    assert found.Mass() * rho == pytest.approx(wanted.mass, rel=1e-9)
    assert np.array(found.CentreOfMass().Coord()) == pytest.approx(wanted.centroid, abs=1e-6)
    scale = np.abs(wanted.inertia).max()
    assert np.abs(inertia(found) * rho - wanted.inertia).max() < 1e-8 * scale


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10**6), blind=st.booleans())
def test_plates_agree_with_profile_arithmetic(make_plate, seed, blind):
    check_solid(make_plate(seed, blind))


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10**6))
def test_extrusions_agree_with_profile_arithmetic(make_extrusion, seed):
    check_solid(make_extrusion(seed))


@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 10**6))
def test_face_by_face_equals_boolean_cutting(make_extrusion, seed):
    piece = make_extrusion(seed)
    one = properties(solids.solid(piece))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(solids, "_plan", lambda *_: None)
        other = properties(solids.solid(piece))
    assert one.Mass() == pytest.approx(other.Mass(), rel=1e-9)
    assert one.CentreOfMass().Distance(other.CentreOfMass()) < 1e-6


def test_holes_that_meet_are_cut_truly_and_then_do_not_pass(tmp_path, alone):
    """Profile arithmetic takes what two crossing holes share away twice; the solid must not repeat that mistake."""
    stock = Stock(
        name="bar",
        shape="bar",
        width=30.0,
        height=20.0,
        wall=20.0,
        material="6082-T6",
        density=2700.0,
        stock_length=3e3,
    )
    holes = tuple(Hole(face="low", loop=circle(x, 15, 8), depth=20.0, use="clearance") for x in (40.0, 44.0))
    piece = Extrusion(role="bearer", stock=stock, length=100.0, holes=holes)
    lens = 2 * 16 * np.arccos(2 / 4) - 2 * np.sqrt(4 * 16 - 4 * 4)  # two circles of radius 4, 4 apart
    metal = 30 * 20 * 100 - 20 * (2 * np.pi * 16 - lens)
    assert properties(solids.solid(piece)).Mass() == pytest.approx(metal, rel=1e-9)
    (part,) = distinct(alone(piece))
    path = write_step(product(part), tmp_path / "x.step")
    with pytest.raises(ReleaseFault, match="volume"):
        check_part_step(path, part)


def test_a_plate_whose_holes_meet_does_not_pass(tmp_path, alone):
    holes = tuple(Hole(face="top", loop=circle(x, 15, 8), depth=3.0, use="clearance") for x in (40.0, 44.0))
    piece = Plate(
        role="panel", outline=rectangle(0, 0, 90, 30), holes=holes, thickness=3.0, material="5754-H22", density=2660.0
    )
    (part,) = distinct(alone(piece))
    path = write_step(product(part), tmp_path / "x.step")
    with pytest.raises(ReleaseFault, match=r"unsound|volume"):
        check_part_step(path, part)


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10**6), long=st.booleans())
def test_part_files_read_back(tmp_path_factory, make_plate, make_extrusion, alone, seed, long):
    piece = make_extrusion(seed) if long else make_plate(seed, True)
    (part,) = distinct(alone(piece))
    path = write_step(product(part), tmp_path_factory.mktemp("step") / step_name(part, "A"))
    check_part_step(path, part)


def test_the_assembly_reads_back_whole(box, tmp_path):
    parts = distinct(box)
    path = write_step(assembly_product(box.name, parts), tmp_path / "front.step")
    check_assembly_step(path, box.name, parts)
    read = read_step(path)
    made = {part.number: part for part in made_parts(parts)}
    metal = sum(read.bodies[n].volume * density(made[n].piece) * 1e-9 for n, _, _ in read.places if n in made)
    assert metal == pytest.approx(sum(p.piece.mass_properties().mass * p.quantity for p in made.values()), rel=1e-9)


def test_equal_parts_are_one_shape_in_many_places(box, tmp_path):
    parts = distinct(box)
    text = write_step(assembly_product(box.name, parts), tmp_path / "front.step").read_text("ascii")
    found = count(text)
    assert len(set(found.products)) == len(found.products)
    assert set(found.products) == {"front", "front-bought"} | {p.number for p in parts if p.piece.bodies()}
    assert found.occurrences["front-screw-A"] == 48
    assert found.occurrences["front-long-wall-A"] == 2
    assert found.places[:2] == ("floor", "front wall")
    assert "PCURVE" not in text
    assert "TRIMMED_CURVE" not in text
    assert "MILLI" in text


def test_a_reader_that_knows_no_geometry_counts_the_same(box, tmp_path):
    p21 = pytest.importorskip("steputils.p21")
    parts = distinct(box)
    path = write_step(assembly_product(box.name, parts), tmp_path / "front.step")
    data = p21.readfile(str(path)).data[0]
    names = [i.entity.name for i in data.instances.values() if hasattr(i, "entity")]
    found = count(path.read_text("ascii"))
    assert names.count("PRODUCT") == len(found.products)
    assert names.count("NEXT_ASSEMBLY_USAGE_OCCURRENCE") == len(found.places) == sum(found.occurrences.values())
    assert names.count("MANIFOLD_SOLID_BREP") == sum(found.solids.values())
    assert names.count("STYLED_ITEM") == sum(found.solids.values())
    products = {
        i.entity.params[0] for i in data.instances.values() if getattr(i, "entity", None) and i.entity.name == "PRODUCT"
    }
    assert products == set(found.products)


def test_names_with_odd_letters_come_through(make_plate, tmp_path):
    body = Product("lid-A", solids.solid(make_plate(3)), (0.2, 0.4, 0.6))
    marks = ("it's; Größe #5", "a mark of more than seventy-two letters" * 3)
    top = Product("top", places=tuple((mark, body, shifted(x=400.0 * i)) for i, mark in enumerate(marks)))
    path = write_step(top, tmp_path / "x.step")
    path.read_bytes().decode("ascii")
    assert count(path.read_text("ascii")).places == marks
    assert [mark for _, mark, _ in read_step(path).places] == list(marks)


def test_colours_are_read_by_the_kernel(make_plate, tmp_path):
    from OCP.IFSelect import IFSelect_RetDone
    from OCP.Quantity import Quantity_Color, Quantity_TOC_sRGB
    from OCP.STEPCAFControl import STEPCAFControl_Reader
    from OCP.TCollection import TCollection_ExtendedString
    from OCP.TDF import TDF_LabelSequence
    from OCP.TDocStd import TDocStd_Document
    from OCP.XCAFDoc import XCAFDoc_ColorSurf, XCAFDoc_DocumentTool

    path = write_step(Product("p", solids.solid(make_plate(3)), (0.25, 0.5, 0.75)), tmp_path / "p.step")
    document, reader = TDocStd_Document(TCollection_ExtendedString("BinXCAF")), STEPCAFControl_Reader()
    reader.SetColorMode(True)
    assert reader.ReadFile(str(path)) == IFSelect_RetDone
    reader.Transfer(document)
    labels, colour = TDF_LabelSequence(), Quantity_Color()
    XCAFDoc_DocumentTool.ShapeTool_s(document.Main()).GetFreeShapes(labels)
    tool = XCAFDoc_DocumentTool.ColorTool_s(document.Main())
    shape = XCAFDoc_DocumentTool.ShapeTool_s(document.Main()).GetShape_s(labels.Value(1))
    assert tool.GetColor(shape, XCAFDoc_ColorSurf, colour)

    assert colour.Values(Quantity_TOC_sRGB) == pytest.approx((0.25, 0.5, 0.75), abs=0.01)


def test_bytes_are_equal_again_and_again(box, tmp_path):
    parts = distinct(box)
    first = write_step(assembly_product(box.name, parts), tmp_path / "front.step").read_bytes()
    cq = pytest.importorskip("cadquery")
    cq.Assembly(cq.Workplane("XY").box(1, 2, 3)).export(str(tmp_path / "foreign.step"))  # leaves its own settings
    write_step(product(parts[0]), tmp_path / "other.step")
    assert write_step(assembly_product(box.name, parts), tmp_path / "front.step").read_bytes() == first


def test_a_changed_file_is_a_fault(box, tmp_path):
    parts = distinct(box)
    part = next(p for p in parts if p.piece.role == "lid")
    path = write_step(product(part), tmp_path / "lid.step")
    text = path.read_text("ascii")
    path.write_text(text.replace("'front-lid-A'", "'front-lid-B'"), "ascii")
    with pytest.raises(ReleaseFault, match=r"lid\.step: its product is named 'front-lid-B'"):
        check_part_step(path, part)
    other = next(p for p in parts if p.piece.role == "floor")
    write_step(Product(part.number, solids.solid(other.piece)), path)
    with pytest.raises(ReleaseFault, match="volume"):
        check_part_step(path, part)
    path.write_text("nonsense", "ascii")
    with pytest.raises(ReleaseFault, match="read back"):
        check_part_step(path, part)


def test_a_moved_or_missing_occurrence_is_a_fault(box, tmp_path):
    from dataclasses import replace

    parts = distinct(box)
    moved = [
        replace(
            p, occurrences=tuple((m, shifted(0.01).after(at)) if m == "lid" else (m, at) for m, at in p.occurrences)
        )
        for p in parts
    ]
    path = write_step(assembly_product(box.name, moved), tmp_path / "front.step")
    with pytest.raises(ReleaseFault, match="'lid'"):
        check_assembly_step(path, box.name, parts)
    fewer = [replace(p, occurrences=p.occurrences[:-1]) if p.quantity > 2 else p for p in parts]
    write_step(assembly_product(box.name, fewer), path)
    with pytest.raises(ReleaseFault, match="occurrences"):
        check_assembly_step(path, box.name, parts)


def test_no_reference_in_the_text_leads_nowhere(box, tmp_path):
    import re

    path = write_step(assembly_product(box.name, distinct(box)), tmp_path / "front.step")
    entity = re.compile(r"^#(\d+)\s*=\s*((?:'(?:[^']|'')*'|[^';])*);", re.MULTILINE)
    entities = {int(number): body for number, body in entity.findall(path.read_text("ascii"))}
    used = {int(n) for body in entities.values() for n in re.findall(r"#(\d+)", re.sub(r"'(?:[^']|'')*'", "", body))}
    assert used <= set(entities)


@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 10**6))
def test_kernel_and_mesh_agree(make_extrusion, seed):
    import trimesh

    piece = make_extrusion(seed)
    net = trimesh.Trimesh(*mesh(piece, 0.002), process=False)
    assert net.volume == pytest.approx(properties(solids.solid(piece)).Mass(), rel=2e-4)
