"""Bolt patterns from a DXF drawing's circles."""

from pathlib import Path

import ezdxf
import pytest

from baywright.adapter.drawing import circles_of
from baywright.job.messages import BadInput
from baywright.job.patterns import DxfRow


def drawn(folder: Path, units: int = 4) -> Path:
    doc = ezdxf.new("R2010")
    doc.header["$INSUNITS"] = units
    msp = doc.modelspace()
    for x, y in [(0, 100), (-80, -60), (90, 20)]:
        msp.add_circle((x + 10, y + 20), 5.5, dxfattribs={"layer": "BOLTS"})
    msp.add_circle((60, 20), 6, dxfattribs={"layer": "DOWELS"})
    msp.add_line((0, 0), (1, 1), dxfattribs={"layer": "BOLTS"})
    msp.add_circle((0, 0), 500, dxfattribs={"layer": "BORDER"})
    doc.saveas(folder / "bell.dxf")
    return folder


ROW = {
    "file": "bell.dxf",
    "origin": [10, 20],
    "layers": {"BOLTS": {"kind": "through", "thread": "M10"}, "DOWELS": {"kind": "dowel", "diameter": 12}},
}


def holes(folder: Path, **more):
    row = DxfRow.model_validate({**ROW, **more})
    return circles_of(row, folder, lambda make, wide: make.diameter or wide)


def test_circles_are_numbered_clockwise_from_the_top_by_layer(tmp_path: Path) -> None:
    found = holes(drawn(tmp_path))
    assert [(h.name, h.x, h.y, h.diameter) for h in found] == [
        ("1", 0, 100, 11),
        ("2", 90, 20, 11),
        ("3", -80, -60, 11),
        ("D1", 50, 0, 12),
    ]
    assert found[0].kind == "through"
    assert found[3].kind == "dowel"


def test_inches_in_the_header_or_in_the_row(tmp_path: Path) -> None:
    assert holes(drawn(tmp_path, units=1))[0].y == pytest.approx(2540)
    assert holes(drawn(tmp_path, units=0), units="in")[0].y == pytest.approx(2540)
    assert holes(drawn(tmp_path, units=1), units="mm")[0].y == pytest.approx(100)


@pytest.mark.parametrize(
    ("units", "more", "said"),
    [
        (0, {}, "does not say its unit"),
        (4, {"file": "no.dxf"}, "can't be read"),
        (4, {"layers": {"BOLT": {"kind": "through", "thread": "M10"}}}, "did you mean 'BOLTS'"),
        (4, {"layers": {"LINES": {"kind": "through", "thread": "M10"}}}, "nothing on layer 'LINES'"),
    ],
)
def test_drawings_that_do_not_serve(tmp_path: Path, units: int, more: dict, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        holes(drawn(tmp_path, units), **more)


def test_text_that_is_no_drawing(tmp_path: Path) -> None:
    (tmp_path / "bell.dxf").write_text("hello")
    with pytest.raises(BadInput, match=r"bell\.dxf"):
        holes(tmp_path)
