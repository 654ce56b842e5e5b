"""Cut files read back by another way than they were written: raw entities, areas by polygons, layers, notes."""

import math
from dataclasses import replace

import ezdxf
import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright.piece.assembly import Placed
from baywright.piece.numbering import distinct
from baywright.piece.plate import Plate
from baywright.piece.solid import Hole
from baywright.release.dxf import cut_file_name, thickness_text, turned_over, write_cut_file
from baywright.release.fault import ReleaseFault
from baywright.release.spot import bonded_regions
from baywright.release.strokes import _GLYPHS, text_size, text_strokes
from baywright.release.verify import check_cut_file
from baywright.shape.loop import bounds, circle, mapped, polygon, rectangle, slot
from baywright.shape.pose import shifted, turned


def plates(box):
    return [part for part in distinct(box) if isinstance(part.piece, Plate)]


def polygon_area(entity):
    """Return an entity's area from points that ezdxf itself makes of it."""
    points = [(p.x, p.y) for p in ezdxf.path.make_path(entity).flattening(0.001)]
    return shapely.Polygon(points).area


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10**6), only=st.booleans())
def test_area_and_holes_survive_the_file(tmp_path_factory, make_plate, make_cutter, alone, seed, only):
    plate = make_plate(seed)
    assembly = alone(plate)
    part = distinct(assembly)[0]
    layers = "cut only" if only else "by meaning"
    folder = tmp_path_factory.mktemp("cut")
    path = write_cut_file(part, assembly, folder, make_cutter(layers=layers), "A")
    check_cut_file(path, part, layers)
    doc = ezdxf.readfile(path)
    assert (doc.header["$INSUNITS"], doc.header["$MEASUREMENT"]) == (4, 1)
    assert not doc.audit().has_errors
    cut = [e for e in doc.modelspace() if e.dxf.layer in ("CUT", "OUTER_CUT", "INNER_CUT")]
    assert {e.dxftype() for e in cut} <= {"CIRCLE", "LWPOLYLINE"}
    assert all(e.closed for e in cut if e.dxftype() == "LWPOLYLINE")
    areas = sorted(polygon_area(e) for e in cut)
    metal = areas[-1] - sum(areas[:-1])
    assert metal == pytest.approx(plate.profile.area(), rel=1e-3)
    rounds = [e for e in cut if e.dxftype() == "CIRCLE"]
    assert len(rounds) == sum(len(loop) == 2 for loop in (plate.profile.outer, *plate.profile.holes))
    if only:
        assert {e.dxf.layer for e in doc.modelspace()} == {"CUT"}


@pytest.mark.parametrize(
    ("outline", "hole"),
    [
        ([(0, 0), (100, 0), (100, 50), (10, 50), (10, 40), (0, 40)], slot(50, 25, 6, 20)),  # a corner off
        ([(0, 0), (100, 0), (100, 50), (0, 50)], slot(50, 25, 6, 20, 30)),  # a slot that leans
    ],
)
@pytest.mark.parametrize("layers", ["by meaning", "cut only"])
def test_a_file_of_the_mirror_image_is_caught(tmp_path, make_cutter, alone, outline, hole, layers):
    """Size, area and length of cut are the same; the part is scrap."""
    one = Plate(
        role="panel",
        outline=np.array([(x, y, 0.0) for x, y in outline]),
        holes=(Hole(face="top", loop=hole, depth=3.0, use="cut-out", callout=""),),
        thickness=3.0,
        material="5083-O",
        density=2660.0,
    )
    over = np.diag([-1.0, 1.0])
    mirrored = replace(
        one,
        outline=mapped(one.outline, over, (100.0, 0.0)),
        holes=(replace(one.holes[0], loop=mapped(hole, over, (100.0, 0.0))),),
    )
    right, wrong = (distinct(alone(plate))[0] for plate in (one, mirrored))
    path = write_cut_file(wrong, alone(mirrored), tmp_path, make_cutter(layers=layers), "A")
    check_cut_file(path, wrong, layers)
    with pytest.raises(ReleaseFault, match="are not where the design has them"):
        check_cut_file(path, right, layers)


def test_names_say_what_a_shop_must_know(box, make_cutter, tmp_path):
    names = {write_cut_file(part, box, tmp_path, make_cutter(), "A").name for part in plates(box)}
    assert "front-long-wall-A_5754-H22_3.0mm_qty2_revA.dxf" in names
    assert all(cut_file_name(part, "A") in names for part in plates(box))
    assert [thickness_text(t) for t in (3.0, 2.305, 12.0)] == ["3.0", "2.305", "12.0"]


@pytest.mark.parametrize(("version", "number"), [("R2000", "AC1015"), ("R2010", "AC1024")])
def test_the_cutters_version_is_written(box, make_cutter, tmp_path, version, number):
    path = write_cut_file(plates(box)[0], box, tmp_path, make_cutter(dxf_version=version), "A")
    assert ezdxf.readfile(path).dxfversion == number


def test_notes_say_side_size_and_finish(box, make_cutter, tmp_path):
    part = next(p for p in plates(box) if p.number == "front-end-wall-B")
    doc = ezdxf.readfile(write_cut_file(part, box, tmp_path, make_cutter(), "C"))
    text = "\n".join(e.dxf.text for e in doc.modelspace().query("TEXT"))
    for wanted in ("revision C", "quantity 1", "seen from outside", "253.50 x 175.75 mm (9.980 x 6.919 in)"):
        assert wanted in text
    assert "12 x dia 5.50 mm: clearance" in text
    assert "1 x dia 25.50 mm: cut-out, gland" in text
    assert {e.dxf.layer for e in doc.modelspace().query("TEXT")} == {"NOTE"}


def mark_points(doc):
    return np.array([p for e in doc.modelspace().query('LWPOLYLINE[layer=="MARK"]') for p in e.get_points("xy")])


def test_the_mark_is_on_metal_off_bonds_and_holes(box, make_cutter, tmp_path):
    seen = 0
    for part in plates(box):
        doc = ezdxf.readfile(write_cut_file(part, box, tmp_path, make_cutter(), "A"))
        points = mark_points(doc)
        assert len(points)
        metal = shapely.Polygon(polygon(part.piece.outline), [polygon(h.loop) for h in part.piece.holes])
        glued = shapely.union_all([shapely.Polygon(polygon(r)) for r in bonded_regions(part, box)])
        mark = shapely.MultiPoint(points).convex_hull
        assert metal.buffer(-2.9).contains(mark)
        assert not glued.intersects(mark)
        seen += not glued.is_empty
    assert seen  # the floor's seen face carries the angles


def test_a_face_that_is_glued_all_over_is_not_marked(box, make_cutter, tmp_path):
    from dataclasses import replace

    floor = next(p for p in plates(box) if p.piece.role == "floor")
    glue = replace(
        box.bonds[0],
        name="all over",
        first="floor",
        second="lid",
        region=rectangle(-300, -300, 300, 300),
        pose=shifted(z=4.0),
    )
    glued = replace(box, bonds=(*box.bonds, glue))
    doc = ezdxf.readfile(write_cut_file(floor, glued, tmp_path, make_cutter(), "A"))
    assert not len(mark_points(doc))
    assert any("no free place" in e.dxf.text for e in doc.modelspace().query("TEXT"))


def test_a_cutter_without_text_gets_none(box, make_cutter, tmp_path):
    doc = ezdxf.readfile(write_cut_file(plates(box)[0], box, tmp_path, make_cutter(text=False), "A"))
    assert not len(mark_points(doc))
    assert any("not marked by the cutter" in e.dxf.text for e in doc.modelspace().query("TEXT"))


def test_a_blind_hole_is_never_on_a_cut_layer(alone, make_cutter, tmp_path):
    hole = Hole(face="top", loop=circle(50, 50, 6.8), depth=10.0, use="tapped", callout="M8 x 1.25")
    plate = Plate(
        role="adapter plate",
        outline=rectangle(0, 0, 120, 100),
        holes=(hole, Hole(face="top", loop=circle(90, 50, 9), depth=16.0, use="clearance")),
        thickness=16.0,
        material="6082-T6",
        density=2700.0,
    )
    assembly = alone(plate)
    part = distinct(assembly)[0]
    path = write_cut_file(part, assembly, tmp_path, make_cutter(), "A")
    check_cut_file(path, part, "by meaning")
    doc = ezdxf.readfile(path)
    layers = {round(e.dxf.radius, 3): e.dxf.layer for e in doc.modelspace().query("CIRCLE")}
    assert layers == {3.4: "DRILL", 4.5: "INNER_CUT"}
    text = "\n".join(e.dxf.text for e in doc.modelspace().query("TEXT"))
    assert "10 mm deep from the seen side, NOT cut through" in text
    # Profile arithmetic by hand: a block less two cylinders.
    volume = 120 * 100 * 16 - math.pi / 4 * (6.8**2 * 10 + 9**2 * 16)
    assert plate.mass_properties().mass == pytest.approx(volume * 2700e-9, rel=1e-12)


def test_a_plate_fitted_turned_over_is_told(alone, make_cutter, tmp_path):
    from dataclasses import replace

    plate = Plate(
        role="gusset",
        outline=rectangle(0, 0, 80, 60),
        holes=(Hole(face="top", loop=circle(10, 10, 5), depth=3.0, use="clearance"),),
        thickness=3.0,
        material="5754-H22",
        density=2660.0,
    )
    mirror = replace(plate, holes=(replace(plate.holes[0], loop=circle(70, 10, 5)),))
    assembly = alone(plate)
    assembly = replace(assembly, placed=(*assembly.placed, Placed("two", mirror, turned("z", 30, (200, 0, 0)))))
    (part,) = distinct(assembly)
    assert turned_over(part, assembly) == ["two"]
    doc = ezdxf.readfile(write_cut_file(part, assembly, tmp_path, make_cutter(), "A"))
    assert any("fitted turned over: two" in e.dxf.text for e in doc.modelspace().query("TEXT"))


def test_strokes_stay_in_their_box_and_every_letter_is_drawn():
    for character in _GLYPHS:
        strokes = text_strokes(character * 2, 6.0)
        assert (len(strokes) > 0) == (character != " ")
        for stroke in strokes:
            assert stroke.min() >= 0
            assert (stroke.max(axis=0) <= np.array(text_size(character * 2, 6.0)) + 1e-9).all()
    drawn = ["".join(sorted(_GLYPHS[c])) + _GLYPHS[c] for c in _GLYPHS]
    assert len(set(drawn)) == len(drawn)  # no two letters look alike


def test_the_part_number_is_drawn_unmirrored_from_the_seen_side(box, make_cutter, tmp_path):
    """The first letter stands left of the last one, or below it when upright, as text is read."""
    part = next(p for p in plates(box) if p.piece.role == "lid")
    doc = ezdxf.readfile(write_cut_file(part, box, tmp_path, make_cutter(), "A"))
    strokes = [np.array(list(e.get_points("xy"))) for e in doc.modelspace().query('LWPOLYLINE[layer=="MARK"]')]
    wanted = text_strokes(part.number, 6.0)
    offset = strokes[0][0] - wanted[0][0]
    assert all(np.allclose(a, b + offset) for a, b in zip(strokes, wanted, strict=True))
    x0, y0, x1, y1 = bounds(part.piece.outline)
    assert x0 < offset[0] < x1
    assert y0 < offset[1] < y1
