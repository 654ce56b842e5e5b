"""The report on each cut file, made from the file itself: it must see what a cutter would trip over."""

import ezdxf
import pytest

from baywright.piece.numbering import Part, distinct
from baywright.piece.plate import Plate
from baywright.piece.solid import Hole
from baywright.release import sheet
from baywright.release.assemble import release_assembly
from baywright.release.drilling import write_templates
from baywright.release.dxf import write_cut_file
from baywright.release.selfcheck import NAME, check_drilling, check_nested, self_check
from baywright.release.table import read_table
from baywright.shape.loop import circle, rectangle
from baywright.shape.pose import shifted


@pytest.fixture
def written(alone, make_cutter, tmp_path):
    """A panel of 254 x 127 mm (10 x 5 in) with a 10 mm hole, and its cut file."""
    hole = Hole(face="top", loop=circle(100, 60, 10), depth=3.0, use="clearance")
    panel = Plate(
        role="panel",
        outline=rectangle(0, 0, 254, 127),
        holes=(hole,),
        thickness=3.0,
        material="5754-H22",
        density=2660.0,
    )
    assembly = alone(panel)
    (part,) = distinct(assembly)
    return part, write_cut_file(part, assembly, tmp_path, make_cutter(), "A"), make_cutter()


def checked(written, change=None):
    part, path, cutter = written
    doc = ezdxf.readfile(path)
    if change is not None:
        change(doc)
    return {one.check: one for one in self_check(path, doc, part, cutter)}


def test_a_sound_file_holds_and_proves_its_units_both_ways(written):
    found = checked(written)
    assert {one.result for one in found.values()} == {"holds"}
    assert {"closed", "text", "units", "scale line", "least hole", "least web", "repeated edges"} <= set(found)
    assert found["units"].found == "254.00 x 127.00 mm"
    assert found["units"].limit == "10.000 x 5.000 in"
    assert found["least hole"].found == "10.00 mm"
    assert found["least web"].found.startswith("55.00")  # 60 - 5 from the hole's edge to the panel's lower edge


def test_it_looks_at_the_file_and_not_at_the_design(written):
    space = "modelspace"
    inner = {"layer": sheet.INNER_CUT}

    def fails(change):
        return {name for name, one in checked(written, change).items() if one.result == "FAILS"}

    assert fails(lambda d: getattr(d, space)().add_line((0, 0), (5, 5), dxfattribs=inner)) == {"closed"}
    assert fails(lambda d: getattr(d, space)().add_text("A", dxfattribs=inner)) == {"closed", "text"}
    assert "repeated edges" in fails(lambda d: getattr(d, space)().add_circle((100, 60), 5, dxfattribs=inner))
    assert "least hole" in fails(lambda d: getattr(d, space)().add_circle((30, 30), 0.4, dxfattribs=inner))
    assert "least web" in fails(lambda d: getattr(d, space)().add_circle((100, 71.5), 5, dxfattribs=inner))
    assert fails(lambda d: d.header.__setitem__("$INSUNITS", 1)) == {"units"}


def test_a_release_reports_on_every_cut_file(box, make_cutter, tmp_path):
    release_assembly(box, folder=tmp_path, cutter=make_cutter(), revision="A", solids=False)
    rows = read_table(tmp_path / "front" / "cut" / NAME)
    files = {path.name for path in (tmp_path / "front" / "cut").glob("*.dxf")}
    assert {row["file"] for row in rows} == files
    assert {row["result"] for row in rows} <= {"holds", "look"}


@pytest.fixture
def nested(alone, tmp_path):
    """Two plates with a hole each, 6 mm apart and 10 mm off the edges of a sheet, drawn as nested sheets are."""
    doc = sheet.drawing({k: sheet.LAYERS[k] for k in (sheet.OUTER_CUT, sheet.INNER_CUT, sheet.NOTE)})
    for x in (10.0, 116.0):
        sheet.add_loop(doc, rectangle(x, 10, x + 100, 60), sheet.OUTER_CUT)
        sheet.add_loop(doc, circle(x + 50, 30, 10), sheet.INNER_CUT)
    sheet.add_loop(doc, rectangle(0, 0, 300, 100), sheet.NOTE)
    sheet.add_scale(doc, 0.0, -25.0, 8.0, sheet.NOTE)
    path = tmp_path / "nest.dxf"
    sheet.save(doc, path, (0, -50, 300, 100))
    return path


def failing(path, checker, change=None):
    doc = ezdxf.readfile(path)
    if change is not None:
        change(doc)
    return {one.check for one in checker(path, doc) if one.result != "holds"}


def test_a_nested_sheet_is_read_back_piece_by_piece(nested):
    def checker(path, doc):
        return check_nested(path, doc, (300.0, 100.0), 6.0, 10.0)

    assert failing(nested, checker) == set()
    told = {one.check: one.found for one in checker(nested, ezdxf.readfile(nested))}
    assert told["pieces apart"] == "at least 6.00 mm"
    assert told["sheet's edge"] == "10.00 mm"

    def another(x, y):
        return lambda doc: sheet.add_loop(doc, rectangle(x, y, x + 30, y + 20), sheet.OUTER_CUT)

    assert failing(nested, checker, another(20, 63)) == {"pieces apart"}
    assert failing(nested, checker, another(265, 20)) == {"sheet's edge"}
    assert failing(nested, checker, lambda d: sheet.add_loop(d, circle(250, 80, 5), sheet.INNER_CUT)) == {
        "holes in pieces"
    }
    twice = failing(nested, checker, lambda d: sheet.add_loop(d, circle(60, 30, 10), sheet.INNER_CUT))
    assert twice == {"repeated edges"}
    assert failing(nested, checker, lambda d: d.header.__setitem__("$INSUNITS", 1)) == {"units"}


def test_a_drilling_template_is_read_back_hole_by_hole(make_extrusion, tmp_path):
    piece = next(p for p in map(make_extrusion, range(20)) if p.holes)
    paths = write_templates(Part("job-rail-A", piece, (("one", shifted()),)), tmp_path, "R2000", "A")
    path = next(path for path in paths if path.suffix == ".dxf")
    assert failing(path, check_drilling) == set()
    (hole, *_) = [loop for loop in map(sheet.loop_of_entity, ezdxf.readfile(path).modelspace()) if loop is not None][1:]
    assert failing(path, check_drilling, lambda d: sheet.add_loop(d, hole, sheet.DRILL)) == {"repeated edges"}
    off = failing(path, check_drilling, lambda d: sheet.add_loop(d, circle(1, 1, 5), sheet.DRILL))
    assert off == {"on the metal"}
