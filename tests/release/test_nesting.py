"""Nesting: every piece once, on the sheet, apart by the gap; figures as the pieces say; files that hold them."""

import csv
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from baywright.design import design_job
from baywright.job.read import read_job
from baywright.piece.numbering import Part, distinct
from baywright.piece.plate import Plate
from baywright.release.nesting import EDGE, GAP, nest
from baywright.release.nestwrite import nested_svg, write_nesting
from baywright.rooms import room
from baywright.shape.loop import area, loop_of, polygon, rectangle
from baywright.shape.pose import shifted

SIZES = {"thicknesses": (3.0, 4.0), "sheet_size": (2500.0, 1250.0)}
ALU = SimpleNamespace(name="alu", material="5754-H22", grain=False, **SIZES)
BRUSHED = SimpleNamespace(name="brushed", material="5754-H22", grain=True, **SIZES)


def part(number: str, outline, quantity: int = 1, thickness: float = 3.0, **changed) -> Part:
    kind = {"role": "panel", "material": "5754-H22", "density": 2660.0} | changed
    plate = Plate(outline=outline, thickness=thickness, **kind)
    return Part(number, plate, tuple((f"{number} {k}", shifted()) for k in range(quantity)))


def lies_right(found, gap=GAP, edge=EDGE) -> None:
    for one in found.sheets:
        shapes = [shapely.Polygon(polygon(piece.profile.outer, 0.01)) for piece in one.laid]
        frame = shapely.box(edge, edge, one.size[0] - edge, one.size[1] - edge).buffer(0.01)
        assert all(frame.contains(shape) for shape in shapes)
        for i, a in enumerate(shapes):
            for b in shapes[i + 1 :]:
                assert a.distance(b) > gap - 0.02


sizes = st.tuples(st.floats(20, 1200), st.floats(20, 1200), st.integers(1, 4))


@given(st.lists(sizes, min_size=1, max_size=12))
def test_rectangles_lie_apart_on_the_sheet_every_one_once(wanted):
    parts = [part(f"p{k}", rectangle(-5, 7, w - 5, h + 7), n) for k, (w, h, n) in enumerate(wanted)]
    found = nest(parts, [ALU])
    assert not found.problems
    lies_right(found)
    laid = [(piece.part.number, piece.count) for one in found.sheets for piece in one.laid]
    assert sorted(laid) == sorted((p.number, n) for p in parts for n in range(1, p.quantity + 1))
    metal = sum(p.quantity * abs(area(p.piece.outline)) for p in parts)
    assert sum(one.used * one.size[0] * one.size[1] for one in found.sheets) == pytest.approx(metal)
    # Never more sheets than pieces laid in rows would take, at least what their area takes.
    assert len(found.sheets) >= metal / (2500 * 1250)


def test_grain_keeps_pieces_from_being_turned_by_a_quarter():
    parts = [part("long", rectangle(0, 0, 300, 1200), 3)]
    free = nest(parts, [ALU])
    along = nest(parts, [BRUSHED])
    assert {piece.turn for one in along.sheets for piece in one.laid} == {0.0}
    lies_right(free)
    lies_right(along)


def test_figures_are_the_pieces_own():
    square = part("square", rectangle(0, 0, 100, 100), 2)
    one = nest([square], [ALU]).sheets[0]
    assert one.cut_length == pytest.approx(800)
    assert one.pierces == 2
    assert one.used == pytest.approx(2 * 100 * 100 / (2500 * 1250))
    assert one.left == pytest.approx(2500 - EDGE - 100)


def test_what_cannot_be_laid_is_said():
    found = nest(
        [
            part("huge", rectangle(0, 0, 2600, 300)),
            part("thin", rectangle(0, 0, 100, 100), thickness=1.2),
            part("other", rectangle(0, 0, 100, 100), material="brass"),
            part("good", rectangle(0, 0, 100, 100)),
        ],
        [ALU],
    )
    assert [piece.part.number for one in found.sheets for piece in one.laid] == ["good"]
    text = "\n".join(found.problems)
    assert "huge: 2600 x 300 mm does not go" in text
    assert "thin: no stock of 5754-H22 1.2 mm" in text
    assert "other: no stock of brass 3 mm" in text


def test_a_squeezed_gasket_is_cut_from_its_free_thickness():
    foam = SimpleNamespace(
        name="foam", material="epdm", thicknesses=(5.0, 3.0), sheet_size=(2000.0, 1000.0), grain=False
    )
    gasket = part("seal", rectangle(0, 0, 700, 250), thickness=2.1, role="gasket", material="epdm")
    assert nest([gasket], [foam]).sheets[0].thickness == 3.0


def test_true_shapes_lie_apart_too():
    triangle = part("gusset", loop_of([(0, 0), (600, 0), (0, 600)]), 6)
    rough = nest([triangle], [ALU])
    fine = nest([triangle], [ALU], true_shape_seconds=1)
    lies_right(fine)
    assert len(fine.sheets) == 1
    assert max(p.profile.bounds()[2] for p in fine.sheets[0].laid) <= max(
        p.profile.bounds()[2] for p in rough.sheets[0].laid
    )


@pytest.fixture(scope="module")
def demo():
    job = read_job(room("shared") / "jobs" / "estate.toml")
    parts = [p for box in design_job(job).boxes.values() for p in distinct(box.assembly)]
    return parts, [job.catalogue.sheet(name) for name in job.catalogue.names("sheet")]


def test_the_demo_goes_on_six_sheets(demo, tmp_path):
    parts, stocks = demo
    found = nest(parts, stocks)
    assert not found.problems
    lies_right(found)
    assert len(found.sheets) == 6
    paths = write_nesting(found, tmp_path, "R2010", "A")
    assert sum(path.suffix == ".dxf" for path in paths) == 6
    rows = list(csv.DictReader((tmp_path / "nest" / "nesting.csv").open(encoding="utf-8")))
    checks = list(csv.DictReader((tmp_path / "nest" / "checks.csv").open(encoding="utf-8")))
    assert {row["result"] for row in checks} == {"holds"}
    assert len({row["file"] for row in checks}) == 6
    plates = [p for p in parts if isinstance(p.piece, Plate)]
    assert sum(int(row["pieces"]) for row in rows) == sum(p.quantity for p in plates)
    metres = sum(p.piece.profile.cut_length() * p.quantity for p in plates) / 1000
    assert sum(float(row["cut m"]) for row in rows) == pytest.approx(metres, abs=0.05)


def test_the_same_pieces_lie_the_same_way_every_time(demo, tmp_path):
    parts, stocks = demo
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        paths = write_nesting(nest(parts, stocks), tmp_path / name, "R2010", "A")
    for path in paths:
        assert (tmp_path / "one" / path.relative_to(tmp_path / "two")).read_bytes() == path.read_bytes()


def test_a_sheets_picture_names_every_piece(demo):
    import xml.etree.ElementTree as ET

    parts, stocks = demo
    for one in nest(parts, stocks).sheets:
        text = nested_svg(one, "sheet")
        ET.fromstring(text)
        assert text.count("<text") == len(one.laid) + 3
        assert np.isfinite(one.left)
