"""Drawings: no text over another or off the sheet, every hole in the table where it is, the same bytes every time."""

import math
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest

from baywright.design import design_job
from baywright.job.read import read_job
from baywright.piece.numbering import Part, made_parts
from baywright.piece.plate import Plate
from baywright.piece.solid import Hole
from baywright.release.drawing.box import box_sheet, box_views
from baywright.release.drawing.cut import section
from baywright.release.drawing.dims import Crowd, label, number
from baywright.release.drawing.frame import GENERAL, SIZES, Rules, fitting_scale, scale_text
from baywright.release.drawing.hatching import hatched
from baywright.release.drawing.joints import joints_sheet
from baywright.release.drawing.lines import light, seen_lines
from baywright.release.drawing.paper import (
    Ring,
    Sheet,
    Stroke,
    Text,
    boxes_meet,
    overlapping,
    svg,
    text_width,
    write_pdf,
)
from baywright.release.drawing.part import part_sheet
from baywright.release.drawing.sides import hole_size
from baywright.release.drawing.svgpath import path_of
from baywright.release.drawing.write import write_drawings
from baywright.release.raster import view_axes
from baywright.rooms import room
from baywright.shape.loop import area, circle, rectangle, slot
from baywright.shape.pose import shifted


@pytest.fixture(scope="module")
def design():
    return design_job(read_job(room("shared") / "jobs" / "estate.toml"))


@pytest.fixture(scope="module")
def front(design):
    return design.boxes["front"], light(design.boxes["front"].assembly)


def alone(piece) -> Part:
    return Part("job-panel-A", piece, (("one", shifted()),))


def test_texts_that_overlap_are_found():
    one, two = Text(10, 10, "A12", 2.5), Text(13, 10.5, "A13", 2.5)
    assert overlapping([one, two]) == [(one, two)]
    assert not overlapping([one, replace(two, x=10 + one.width + 0.1)])
    assert overlapping([one, Text(12, 5, "upright text", 2.5, angle=90)])
    square = np.array([(0, 0), (1, 0), (1, 1), (0, 1)], dtype=float)
    c = math.cos(math.pi / 4)
    diamond = square @ np.array([[c, c], [-c, c]])
    assert not boxes_meet(square, diamond + np.array([1.4, 0.693]))
    assert boxes_meet(square, diamond + np.array([1.3, 0.593]))


def test_text_is_as_wide_as_the_font_says():
    # Advance widths of Helvetica, 1/1000 of its size: A 667, i 222, 0 556 (Adobe's font metrics, from memory).
    for letter, width in (("A", 667), ("i", 222), ("0", 556)):
        assert text_width(letter, 0.718) == pytest.approx(width / 1000)


@pytest.mark.parametrize("angle", ["first", "third"])
@pytest.mark.parametrize("name", ["front", "rear"])
def test_every_sheet_of_the_demo_boxes_is_clean(design, name, angle, clean):
    rules = Rules(angle=angle, workshop="A workshop with quite a long name, and a town")
    box, subject = design.boxes[name], light(design.boxes[name].assembly)
    views = box_views(subject, rules)
    clean(box_sheet(box, views, "A job's title", "A", rules))
    clean(joints_sheet(box, subject, "A job's title", "A", rules))
    for part in made_parts(subject.parts):
        clean(part_sheet(part, "A job's title that is longer than its field can take", "A", rules))


@pytest.mark.parametrize("seed", range(25))
def test_random_plates_and_extrusions_are_clean(make_plate, make_extrusion, seed, clean):
    for piece in (make_plate(seed, blind=True), make_extrusion(seed)):
        clean(part_sheet(alone(piece), "job", "B", Rules(tolerance="f")))


@pytest.mark.parametrize("seed", range(6))
def test_every_hole_is_labelled_and_in_the_table_where_it_is(make_plate, seed):
    plate = make_plate(seed)
    sheet = part_sheet(alone(plate), "job", "A")
    said = [text.text for text in sheet.texts()]
    x0, y0 = plate.profile.bounds()[:2]
    corner = np.hypot(plate.outline[:, 0] - x0, plate.outline[:, 1] - y0).min() < 0.01
    datum = (x0, y0) if corner else (0.0, 0.0)
    for hole in plate.holes:
        from baywright.shape.loop import bounds

        a, b, c, d = bounds(hole.loop)
        x, y = (a + c) / 2 - datum[0], (b + d) / 2 - datum[1]
        assert f"{x:.2f}" in said
        assert f"{y:.2f}" in said
    labels = [t for t in said if t[:1].isupper() and (t[1:].isdigit() or len(t) == 1)]
    # Each label stands twice: beside the hole and in the table. Revision letters stand alone.
    for name in set(labels) - {"A"}:
        assert labels.count(name) == 2, name


def test_a_plates_outline_and_holes_are_drawn_to_scale():
    plate = Plate(
        role="panel",
        outline=rectangle(0, 0, 120, 80),
        holes=(Hole(face="top", loop=circle(30, 20, 10), depth=3, use="clearance", callout="clearance for M8"),),
        thickness=3,
        material="5754-H22",
        density=2660,
    )
    sheet = part_sheet(alone(plate), "job", "A")
    rings = [item for item in sheet.items if isinstance(item, Ring)]
    assert any(ring.radius == pytest.approx(5.0) for ring in rings), "a small plate is drawn at full size"
    outline = next(
        i.lines[0]
        for i in sheet.items
        if isinstance(i, Stroke) and i.closed and np.allclose(np.ptp(i.lines[0], axis=0), (120, 80))
    )
    ring = next(ring for ring in rings if ring.radius == pytest.approx(5.0))
    assert np.allclose(np.array([ring.x, ring.y]) - outline.min(axis=0), (30, 20))
    said = [text.text for text in sheet.texts()]
    assert "120" in said
    assert "80" in said
    assert any("Ø10" in t and "clearance for M8" in t for t in said)
    assert any("ISO 2768-m" in t and "to 120 ±0.3" in t for t in said)


def test_threads_are_called_out(front):
    _, subject = front
    part = next(p for p in subject.parts if p.piece.role == "floor angle")
    said = " ".join(t.text for t in part_sheet(part, "job", "A").texts())
    assert "M5" in said
    assert "tapped" in said
    assert "no thread circle is cut" in said


def test_hole_sizes_read_as_a_drawing_says_them():
    assert hole_size(circle(0, 0, 5.5)) == "Ø5.5"
    assert hole_size(slot(0, 0, 9, 16, 30)) == "slot 9 × 16"
    assert hole_size(rectangle(0, 0, 62, 46, 3)) == "62 × 46"
    assert [number(v) for v in (748.0, 673.25, 0.5, 12.30)] == ["748", "673.25", "0.5", "12.3"]


def test_scales_are_the_standards():
    assert scale_text(fitting_scale(748, 673, (200, 200))) == "1:5"
    assert scale_text(fitting_scale(10, 10, (60, 60))) == "5:1"
    assert scale_text(fitting_scale(1e9, 1, (60, 60))) == "1:100"


def test_general_tolerances_grow_with_size_and_class():
    # ISO 2768-1, table 1: three values remembered for each class; the rest must grow between them.
    for name, size, value in (("f", 30.0, 0.1), ("m", 400.0, 0.5), ("c", 1000.0, 2.0), ("v", 400.0, 2.5)):
        assert GENERAL[name][SIZES.index(size)] == value
    for values in GENERAL.values():
        known = [v for v in values if v is not None]
        assert known == sorted(known)
    for finer, coarser in zip("fmc", "mcv", strict=True):
        for a, b in zip(GENERAL[finer], GENERAL[coarser], strict=True):
            assert a is None or b is None or a < b


def test_labels_take_free_places_or_say_that_there_is_none():
    sheet, crowd = Sheet(100, 100), Crowd()
    for k in range(40):
        assert label(sheet, crowd, (50.0 + k % 7, 50.0 + k // 7), 0.5, f"A{k}")
    assert not overlapping(sheet.texts())
    full = Crowd([(0.0, 0.0, 100.0, 100.0)])
    assert not label(sheet, full, (50.0, 50.0), 0.5, "A")


def test_a_block_shows_nine_edges_from_a_corner_and_four_from_above(alone_block):
    corner = seen_lines(alone_block, view_axes(35, 28))
    assert len(corner) == 9
    above = seen_lines(alone_block, view_axes(0, 90))
    assert len(above) == 4
    assert sum(np.hypot(*(b - a)) for a, b in above) == pytest.approx(2 * (60 + 40), rel=1e-6)


@pytest.fixture
def alone_block():
    from baywright.piece.assembly import Assembly, Placed

    plate = Plate(role="block", outline=rectangle(0, 0, 60, 40), thickness=25, material="x", density=1000)
    return light(Assembly(name="job", placed=(Placed("one", plate, shifted()),)))


def test_what_stands_behind_is_hidden():
    from baywright.piece.assembly import Assembly, Placed

    plate = Plate(role="wall", outline=rectangle(0, 0, 60, 40), thickness=2, material="x", density=1000)
    small = Plate(role="tab", outline=rectangle(20, 10, 30, 20), thickness=2, material="x", density=1000)
    below = Assembly(name="job", placed=(Placed("a", plate, shifted()), Placed("b", small, shifted(z=-10))))
    above = Assembly(name="job", placed=(Placed("a", plate, shifted()), Placed("b", small, shifted(z=10))))
    assert len(seen_lines(light(below), view_axes(0, 90))) == 4
    assert len(seen_lines(light(above), view_axes(0, 90))) == 8


def test_a_section_cuts_what_the_solids_say(front):
    box, subject = front
    cuts = {cut.mark: cut for cut in section(subject, view_axes(90, 0), np.array([50.0, 0.0, 0.0]))}
    wall = box.assembly.by_mark["wall right"].piece
    cut = cuts["wall right"]
    loops = [np.column_stack([ring, np.zeros(len(ring))]) for ring in cut.rings]
    tall = wall.profile.bounds()[3] - wall.profile.bounds()[1]
    assert sum(area(loop) for loop in loops) == pytest.approx(wall.thickness * tall, rel=1e-6)
    bond = next(c for mark, c in cuts.items() if mark == "bond wall right / floor angle right")
    assert np.ptp(np.concatenate(bond.rings), axis=0).min() == pytest.approx(0.25, abs=1e-6)


def test_hatching_stays_in_its_area():
    import shapely

    ring = shapely.Point(0, 0).buffer(10).difference(shapely.Point(0, 0).buffer(6))
    lines = hatched(ring, 45.0, 1.0)
    total = sum(float(np.hypot(*(b - a))) for a, b in lines)
    assert total == pytest.approx(ring.area / 1.0, rel=0.05)
    assert all(ring.buffer(1e-6).contains(shapely.LineString(line)) for line in lines)


def test_files_are_the_same_every_time_and_can_be_read(front, tmp_path):
    box, subject = front
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        paths = write_drawings(box, subject, tmp_path / name, "job", "A")
    made = made_parts(subject.parts)
    assert len(paths) == 2 * (len(made) + 2) + 1
    for path in paths:
        again = tmp_path / "one" / path.relative_to(tmp_path / "two")
        assert again.read_bytes() == path.read_bytes()
        if path.suffix == ".svg":
            ET.parse(path)
        else:
            data = path.read_bytes()
            assert data.startswith(b"%PDF-")
            assert data.rstrip().endswith(b"%%EOF")


def test_svg_and_pdf_take_awkward_names(tmp_path):
    sheet = Sheet(100, 50, "a <title> & more")
    sheet.text(10, 10, "Träger <A> & „B“ → ∅", 3)
    ET.fromstring(svg(sheet))
    assert write_pdf([sheet], tmp_path / "a.pdf", sheet.title).stat().st_size > 500


def test_paths_keep_arcs():
    assert path_of([circle(5, 0, 10)]) == "M0 0a5 5 0 1 0 10 0a5 5 0 1 0 -10 0Z"
    text = path_of([slot(0, 0, 4, 10)])
    assert text.count("A2 2") == 2
    assert text.count("L") == 2
