"""Templates, hole tables and pictures of the demo adapters: true to scale, the right way round, the same every time."""

import csv
import math
from pathlib import Path

import matplotlib.backends.backend_pdf
import numpy as np
import pytest

from baywright.adapter.design import AdapterDesign
from baywright.adapter.generate import generate
from baywright.adapter.pictures import clocking_picture, depth_picture, face_picture, overlay_picture
from baywright.adapter.table import hole_table, write_hole_table
from baywright.adapter.template import PAPERS, tiling, write_template
from baywright.job.read import read_job
from baywright.rooms import room

JOBS = sorted((room("shared") / "jobs").glob("adapter-*.toml"))


@pytest.fixture(scope="module", params=JOBS, ids=lambda p: p.stem)
def design(request) -> AdapterDesign:
    job = read_job(request.param)
    ((name, ask),) = job.adapters.items()
    return generate(name, ask, job.catalogue, request.param.parent)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("size", [(50.0, 50.0), (180.0, 260.0), (450.0, 450.0), (890.0, 700.0)])
def test_pages_cover_the_drawing_and_share_a_strip(paper: str, size: tuple[float, float]) -> None:
    x0, y0 = -size[0] / 3, -size[1] / 2
    tiles = tiling((x0, y0, x0 + size[0], y0 + size[1]), paper)
    seen = [tiles.window(c, r) for c in range(tiles.columns) for r in range(tiles.rows)]
    assert min(w[0] for w in seen) <= x0 + 1e-9
    assert max(w[1] for w in seen) >= x0 + size[0] - 1e-9
    assert min(w[2] for w in seen) <= y0 + 1e-9
    assert max(w[3] for w in seen) >= y0 + size[1] - 1e-9
    if tiles.columns > 1:
        assert tiles.window(0, 0)[1] - tiles.window(1, 0)[0] == pytest.approx(10)
    if tiles.rows > 1:
        assert tiles.window(0, 1)[3] - tiles.window(0, 0)[2] == pytest.approx(10)
    # One page fewer would not do.
    assert tiles.columns == 1 or (tiles.columns - 1) * (tiles.width - 10) + 10 < size[0] + 1e-6
    assert tiles.width <= PAPERS[paper][0] - 20


def pages_of(design: AdapterDesign, path: Path, monkeypatch) -> list:
    figures = []
    real = matplotlib.backends.backend_pdf.PdfPages.savefig

    def keep(self, figure, **more):
        figures.append(figure)
        return real(self, figure, **more)

    monkeypatch.setattr(matplotlib.backends.backend_pdf.PdfPages, "savefig", keep)
    assert write_template(design, path) == len(figures)
    return figures


def test_a_millimetre_is_a_millimetre_on_every_page(design: AdapterDesign, tmp_path: Path, monkeypatch) -> None:
    width, height = PAPERS[design.given.ask.paper]
    for figure in pages_of(design, tmp_path / "t.pdf", monkeypatch):
        assert figure.get_size_inches() == pytest.approx((width / 25.4, height / 25.4))
        for axes in figure.axes:
            dots = axes.transData.transform([(0, 0), (100, 0), (0, 10)])
            assert (dots[1] - dots[0])[0] / figure.dpi * 25.4 == pytest.approx(100, abs=1e-6)
            assert (dots[2] - dots[0])[1] / figure.dpi * 25.4 == pytest.approx(10, abs=1e-6)


def test_every_hole_is_on_a_page_and_every_page_says_where_it_is_seen_from(
    design: AdapterDesign, tmp_path: Path, monkeypatch
) -> None:
    figures = pages_of(design, tmp_path / "t.pdf", monkeypatch)
    shown = {"motor": set(), "gearbox": set()}
    for figure in figures:
        drawing, foot = figure.axes
        words = " ".join(t.get_text() for t in foot.texts)
        side = "motor" if "SEEN FROM THE MOTOR" in words else "gearbox"
        assert ("lay on the gearbox's face" if side == "motor" else "lay on the motor's face") in words
        assert "print at 100 %" in words
        left, right, low, high = (*drawing.get_xlim(), *drawing.get_ylim())
        for patch in drawing.patches:
            x, y = patch.center
            if left < x < right and low < y < high:
                shown[side].add((round(x, 4), round(y, 4)))
    gearbox = {(round(h.x, 4), round(h.y, 4)) for h in design.given.gearbox_face.holes}
    motor = {(round(h.x, 4), round(h.y, 4)) for h in design.motor_face.seen("gearbox").holes}
    assert gearbox <= shown["motor"]
    assert motor <= shown["gearbox"]


def test_the_template_is_the_same_every_time(design: AdapterDesign, tmp_path: Path) -> None:
    write_template(design, tmp_path / "a.pdf")
    write_template(design, tmp_path / "b.pdf")
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()


def test_hole_tables_of_both_sides_number_the_same_hole_alike(design: AdapterDesign, tmp_path: Path) -> None:
    for at in design.plates:
        front, back = (hole_table(design, at.mark, side) for side in ("motor", "gearbox"))
        assert len(front) == len(design.piece(at.mark).holes)
        for a, b in zip(front, back, strict=True):
            assert (a.number, a.size, a.note) == (b.number, b.size, b.note)
            assert (a.x, a.y) == pytest.approx((-b.x, b.y))
            assert str(a.x) != "-0.0"
        clocks = [round(line.clock, 3) for line in front if line.radius > 1e-6]
        assert clocks == sorted(clocks)
        path = write_hole_table(front, tmp_path / "holes.csv", "motor")
        rows = list(csv.reader(path.open(encoding="utf-8")))
        assert rows[0][0].startswith("seen from the motor")
        assert len(rows) == len(front) + 2


def test_the_table_of_the_motors_side_has_the_gearboxs_holes_where_the_bell_has_them(design: AdapterDesign) -> None:
    lines = hole_table(design, design.plates[-1].mark, "motor")
    found = np.array(sorted((n.x, n.y) for n in lines if n.belongs.startswith("gearbox")))
    assert found == pytest.approx(np.array(sorted((h.x, h.y) for h in design.given.gearbox_face.holes)), abs=1e-6)


def test_pictures_are_written_and_the_same_every_time(design: AdapterDesign, tmp_path: Path) -> None:
    mark = design.plates[0].mark
    makers = [
        overlay_picture,
        clocking_picture,
        depth_picture,
        lambda d, p: face_picture(d, mark, "gearbox", p),
    ]
    for make in makers:
        first, second = (make(design, tmp_path / f"{n}.svg").read_bytes() for n in "ab")
        assert first == second
        assert len(first) > 5000
    for suffix in ("png", "pdf"):
        assert overlay_picture(design, tmp_path / f"o.{suffix}").stat().st_size > 5000


def test_a_picture_of_another_kind_is_refused(design: AdapterDesign, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="must end in"):
        overlay_picture(design, tmp_path / "o.bmp")


def test_mass_and_centroid_of_the_metal_leave_the_motor_out(design: AdapterDesign) -> None:
    whole = design.assembly.mass_properties
    assert whole.mass == pytest.approx(design.metal.mass + design.given.motor.mass)
    z = design.metal.centroid[2]
    assert 0 < z < design.depth.thickness
    lone = (whole.mass * whole.centroid - design.metal.mass * design.metal.centroid) / design.given.motor.mass
    assert lone == pytest.approx((0, 0, -135), abs=1e-6)
    assert math.isfinite(float(design.metal.inertia.sum()))
