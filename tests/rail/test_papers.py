"""The papers of a set of rails: templates that wrap round the metal, and the setting-out drawing."""

import hashlib
import re

import numpy as np
import pytest

from baywright.piece.extrusion import Extrusion
from baywright.rail.hold import WELD_LEG
from baywright.rail.setting_out import diagonals, mount_rows
from baywright.rail.unrolled import face_names, unrolled, write_templates
from baywright.release.drawing.lines import light
from baywright.release.drawing.paper import Ring, overlapping
from baywright.release.drawing.rails import rails_sheets
from baywright.release.drawing.write import RULES
from baywright.release.steps.pages import step_pages
from baywright.release.steps.rails import rail_steps
from baywright.release.tightening import tighten
from baywright.shape.loop import as_circle, bounds


def hole_rows(piece):
    """Return every hole as (face, from end 0 mm, from the face's first edge mm, size, what for), in sheet order."""
    rows = []
    for strip in unrolled(piece):
        for hole, _ in strip.holes:
            x0, y0, x1, y1 = bounds(hole.loop)
            ring = as_circle(hole.loop)
            size = f"dia {ring[2]:.1f}" if ring else f"slot {y1 - y0:.1f} x {x1 - x0:.1f}"
            rows.append((strip.name, (x0 + x1) / 2, (y0 + y1) / 2, size, hole.callout))
    return rows


def wrapped(piece: Extrusion, strip, x, y):
    """The place (3,) in the extrusion's frame of a point of the sheet, wrapped round the section by hand."""
    w, h = piece.stock.width, piece.stock.height
    at = strip.low + y
    if piece.stock.shape == "tube":
        if at <= w:
            return np.array([w - at, 0, x])
        if at <= w + h:
            return np.array([0, at - w, x])
        if at <= 2 * w + h:
            return np.array([at - w - h, h, x])
        return np.array([w, h - (at - 2 * w - h), x])
    raise AssertionError


def test_the_sheet_wraps_round_the_tube_hole_on_hole(demo):
    for mark in demo.bars:
        piece = demo.assembly.by_mark[mark].piece
        strips = unrolled(piece)
        assert [s.name for s in strips] == ["low", "left", "high", "right"]
        assert strips[-1].low + strips[-1].face.height == pytest.approx(2 * (piece.stock.width + piece.stock.height))
        seen = 0
        for strip in strips:
            for hole, loop in strip.holes:
                x, y, _ = as_circle(loop)
                by_hand = wrapped(piece, strip, x, y - strip.low)
                u, v, _ = as_circle(hole.loop)
                assert by_hand == pytest.approx(strip.face.pose(np.array([u, v, 0.0])), abs=1e-9)
                seen += 1
        assert seen == len(piece.holes)


def test_crush_tubes_come_out_opposite(demo):
    """Every hole of one wall has its twin in the facing wall at the same length, mirrored across the face."""
    for mark in demo.bars:
        piece = demo.assembly.by_mark[mark].piece
        rows = hole_rows(piece)
        for a, b, size in (("left", "right", piece.stock.height), ("low", "high", piece.stock.width)):
            one = sorted((round(x, 6), round(y, 6)) for face, x, y, _, _ in rows if face == a)
            other = sorted((round(x, 6), round(size - y, 6)) for face, x, y, _, _ in rows if face == b)
            assert np.allclose(np.reshape(one, (-1, 2)), np.reshape(other, (-1, 2)), atol=1e-5)


def test_faces_are_named_as_the_car_sees_them(demo):
    for mark, bar in demo.bars.items():
        names = face_names(bar, demo.sides)
        assert sorted(names.values()) == ["bottom", "inboard", "outboard", "top"]
        piece = demo.assembly.by_mark[mark]
        for name, face in piece.piece.faces().items():
            normal = demo.pose.direction(piece.pose.direction(face.pose.turn[:, 2]))
            if names[name] == "top":
                assert normal[2] > 0.9
            if names[name] == "outboard":
                assert normal[1] * (-1 if "left" in mark else 1) > 0.9


def test_templates_are_at_full_size_and_alike_every_time(demo, tmp_path):
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    first, second = write_templates(demo, tmp_path / "a"), write_templates(demo, tmp_path / "b")
    assert [p.name for p in first] == ["motor_rail-left_template_revA.pdf", "motor_rail-right_template_revA.pdf"]
    for one, other in zip(first, second, strict=True):
        assert hashlib.sha256(one.read_bytes()).digest() == hashlib.sha256(other.read_bytes()).digest()
    text = first[0].read_bytes()
    box = text[text.index(b"/MediaBox") :].split(b"]")[0].split(b"[")[1].split()
    wide = float(box[2]) / 72 * 25.4
    bar = demo.bars["rail left"]
    assert wide == pytest.approx(bar.high - bar.low + 36.0, abs=0.1)


@pytest.fixture(scope="module")
def sheets(demo):
    return rails_sheets(demo, "demo job", "B", RULES)


def test_no_text_of_the_setting_out_drawing_lies_over_another(sheets):
    for sheet in sheets:
        assert [(a.text, b.text) for a, b in overlapping(sheet.texts())] == []


def test_the_plan_is_seen_from_above_and_not_mirrored(demo, sheets):
    """With the front at the left of the paper the car's right side is up: X, Y and the way to the eye right-handed."""
    rings = [item for item in sheets[0].items if isinstance(item, Ring) and item.radius == 1.3]
    spots = {h.mount.name: (r.x, r.y) for h, r in zip(demo.hangers, rings, strict=True)}
    assert spots["front-left"][0] < spots["rear-left"][0]
    assert spots["front-right"][1] > spots["front-left"][1]
    scale = (spots["front-right"][1] - spots["front-left"][1]) / 510.0
    assert 1 / scale in (pytest.approx(5), pytest.approx(10))
    side = [item for item in sheets[1].items if isinstance(item, Ring) and item.radius == 1.3]
    assert side[0].y > side[2].y  # the front mounts are higher
    assert side[4].x > side[5].x  # seen from the front the car's left is at the right


def test_a_fitter_finds_every_number(demo, sheets):
    told = [t.text for sheet in sheets for t in sheet.texts()]
    for words in ("-80.0", "390.0", "-390.0", "slot 11 x 21", "dia 11", "510.0", "crank centre on the gearbox's face"):
        assert words in told, words
    for bar in demo.bars.values():
        assert f"{bar.high - bar.low:.0f}" in told
    # M10 of class 8.8, dry: 0.2 x 0.75 x proof load x d (Shigley); proof load 33.7 kN by ISO 898-1.
    assert any(abs(float(t) - 0.2 * 0.75 * 33.7 * 10) < 0.1 for t in told if re.fullmatch(r"\d+\.\d", t))


def test_gussets_leave_room_for_both_their_fillets(demo, sheets):
    foot = next(h.foot for h in demo.hangers if h.foot.mark == "foot front-left")
    low, high = demo.assembly.by_mark[foot.mark], demo.assembly.by_mark["gusset front-left 1"]
    ends = [float(low.pose(np.array([0.0, 0.0, z])) @ foot.along) for z in (0.0, low.piece.length)]
    sides = [float(high.pose(np.array([0.0, 0.0, z])) @ foot.along) for z in (0.0, high.piece.thickness)]
    assert min(abs(e - s) for e in ends for s in sides) >= WELD_LEG + 1.0
    # The nuts' washers of the foot's bolts clear the inner fillets.
    bolts = [p @ foot.along for j in demo.joints if j.name == f"{foot.mark} bolts" for p in j.points]
    assert min(abs(b - s) for b in bolts for s in sides) >= demo.kit.washer("M10") + WELD_LEG
    assert len(sheets) == 3
    assert any("fillets 4, both sides" in t.text for t in sheets[2].texts())


def test_a_stronger_bolt_is_not_tightened_beyond_its_crush_tube(base, made):
    base["shop"] = {"grade": "10.9"}
    told = [t.text for sheet in rails_sheets(made(base), "demo job", "A", RULES) for t in sheet.texts()]
    # 355 MPa on a tube 15 x 2, then T = 0.2 F d.
    assert f"{0.2 * 355 * np.pi / 4 * (15**2 - 11**2) * 10 / 1000:.1f}" in told
    assert "what its crush tube takes without getting shorter" in told


def test_every_paper_gives_a_bolt_the_same_torque(base, made, catalogue):
    """Steps and setting-out drawing, of bolts that their crush tubes hold back and of such that are not the shop's."""
    base["shop"] = {"grade": "10.9"}
    design = made(base)
    steps = step_pages(rail_steps(design), light(design.assembly), catalogue, "rails motor", "demo job", "A")
    written = " ".join(t.text for sheet in steps for t in sheet.texts())
    told = {t.text for sheet in rails_sheets(design, "demo job", "A", RULES) for t in sheet.texts()}
    tight = [tighten(line, design.assembly, catalogue) for line in design.assembly.lines if line.screw is not None]
    reckoned = {one.told for one in tight} - {""}
    assert len(reckoned) > 1
    assert set(re.findall(r"([0-9.]+) N·m: ", written)) == reckoned
    assert {text for text in told if re.fullmatch(r"[0-9]+\.[0-9]", text)} >= reckoned
    assert {one.why for one in tight} <= told


def test_mount_table_and_diagonals(demo):
    rows = {row.name: row for row in mount_rows(demo)}
    assert rows["front-left"].place == ("-80.0", "-255.0", "390.0")
    assert rows["front-left"].hole == "slot 11 x 21"
    assert rows["rear-left"].hole == "dia 11"
    lengths = {(a, b): d for a, b, d in diagonals(demo)}
    assert len(lengths) == 6
    assert lengths["front-left", "front-right"] == pytest.approx(510.0)
    assert lengths["front-left", "rear-right"] == pytest.approx(np.linalg.norm([480, 485, 60]))


def test_slots_are_told_by_both_sizes(demo):
    foot = demo.assembly.by_mark["foot rear-left"].piece
    assert {r[3] for r in hole_rows(foot)} == {"dia 11.0"}
    front = next(h.foot.mark for h in demo.hangers if h.mount.name == "front-left")
    plate = demo.assembly.by_mark[front].piece
    hole = next(h for h in plate.holes if h.use == "slot")
    x0, y0, x1, y1 = bounds(hole.loop)
    assert sorted([round(x1 - x0, 6), round(y1 - y0, 6)]) == [11.0, 21.0]
