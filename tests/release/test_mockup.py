"""The mock-up's files: a DXF that says millimetres, a PDF at full size."""

import re

import numpy as np
import pytest

from baywright.bay.cardboard import cardboard
from baywright.piece.solid import Block
from baywright.release.mockup import write_mockup_dxf, write_mockup_pdf

CASE = Block(np.array([-200.0, -100, 0]), np.array([200.0, 100, 150]))


@pytest.fixture
def card():
    return cardboard("box b", [("case", CASE)], 4.0)


def test_the_dxf_reads_back_at_full_size(card, tmp_path):
    ezdxf = pytest.importorskip("ezdxf")
    doc = ezdxf.readfile(write_mockup_dxf(card, tmp_path / "m.dxf"))
    assert doc.header["$INSUNITS"] == 4
    cut = [e for e in doc.modelspace() if e.dxf.layer == "CUT"]
    assert len(cut) == len(card.cut) + len(card.slots)
    assert all(e.closed for e in cut)
    assert len([e for e in doc.modelspace() if e.dxf.layer == "FOLD"]) == 4
    again = (tmp_path / "m.dxf").read_bytes()
    assert write_mockup_dxf(card, tmp_path / "m.dxf").read_bytes() == again


def pages(path) -> list[tuple[float, float]]:
    found = re.findall(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)", path.read_bytes())
    return [(float(w) / 72 * 25.4, float(h) / 72 * 25.4) for w, h in found]


def test_the_pdf_is_as_large_as_the_board(card, tmp_path):
    ((wide, tall),) = pages(write_mockup_pdf(card, tmp_path / "m.pdf"))
    assert wide == pytest.approx(card.size[0] + 30, abs=0.1)
    assert tall > card.size[1]
    several = pages(write_mockup_pdf(card, tmp_path / "a4.pdf", "a4"))
    assert len(several) > 6
    assert several[0] == pytest.approx((210, 297), abs=0.1)
    with pytest.raises(ValueError, match="no paper"):
        write_mockup_pdf(card, tmp_path / "x.pdf", "b9")
