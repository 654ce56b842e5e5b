"""Drilling templates over several pages: true to scale, every hole whole on some page, crosses that meet."""

import numpy as np
import pytest

from baywright.adapter.template import PAPERS, register_places, tiling
from baywright.piece.extrusion import Extrusion, Stock
from baywright.piece.numbering import Part
from baywright.piece.solid import Hole
from baywright.release.drawing.paper import Stroke, overlapping
from baywright.release.tiled import tiled_template, write_tiled
from baywright.shape.loop import circle
from baywright.shape.pose import shifted

TUBE = Stock(
    name="tube 60x40x3",
    shape="tube",
    width=60.0,
    height=40.0,
    wall=3.0,
    material="S235",
    density=7850.0,
    stock_length=6000.0,
)
AT = (25.0, 198.0, 260.0, 333.3, 590.0, 1104.5, 1180.0)


@pytest.fixture(scope="module")
def rail() -> Part:
    bare = Extrusion(role="rail", stock=TUBE, length=1234.0)
    holes = tuple(
        Hole(face=face, loop=circle(x, 22.0, 11.0), depth=3.0, use="clearance", callout="M10 clearance")
        for face in ("high", "low")
        for x in AT
    )
    return Part("job-rail-A", bare.with_holes(holes), (("rail left", shifted()),))


@pytest.mark.parametrize("paper", list(PAPERS))
def test_every_hole_is_drawn_whole_and_to_scale_on_some_page(rail, paper):
    pages = tiled_template(rail, "A", paper, {"high": "inboard"})
    whole = []
    for page in pages:
        assert (page.width, page.height) == PAPERS[paper][::-1]
        assert not overlapping(page.texts())
        for text in page.texts():
            corners = text.corners()
            assert corners.min() > 5
            assert (corners.max(axis=0) < (page.width - 5, page.height - 5)).all()
        for item in page.items:
            if isinstance(item, Stroke):
                points = np.concatenate(item.lines)
                ring = len(points) > 8 and np.allclose(points[0], points[-1])
                if ring:
                    whole.append(np.ptp(points, axis=0))
    # Those that stand where two pages share are on both.
    assert len(whole) >= 2 * len(AT)
    assert np.allclose(whole, 11.0, atol=0.1)
    said = " ".join(text.text for page in pages for text in page.texts())
    for x in AT:
        assert f"Ø11 at {x:.1f}" in said
    assert "INBOARD (high)" in said
    assert all("measure this bar" in " ".join(t.text for t in page.texts()) for page in pages)


def test_neighbouring_pages_have_their_crosses_at_the_same_places():
    tiles = tiling((0.0, 0.0, 1234.0, 400.0), "A4", lying=True)
    assert tiles.columns * (tiles.width - 10) + 10 >= 1234.0
    assert (tiles.columns, tiles.rows) == (5, 3)
    for row in range(tiles.rows):
        for column in range(tiles.columns - 1):
            here, there = set(register_places(tiles, column, row)), set(register_places(tiles, column + 1, row))
            assert len(here & there) >= 2


def test_files_are_the_same_every_time_and_only_for_what_is_drilled(rail, tmp_path):
    undrilled = Part("job-rail-B", Extrusion(role="rail", stock=TUBE, length=90.0), (("b", shifted()),))
    assert write_tiled([undrilled], tmp_path, "motor", "A", ["A4"]) == []
    first = [path.read_bytes() for path in write_tiled([rail, undrilled], tmp_path, "motor", "A", ["A4", "A3"])]
    again = write_tiled([rail, undrilled], tmp_path, "motor", "A", ["A4", "A3"])
    assert [path.name for path in again] == ["motor-templates-A4_revA.pdf", "motor-templates-A3_revA.pdf"]
    assert [path.read_bytes() for path in again] == first
