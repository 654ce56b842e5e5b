"""Step sheets, torques, the inspector's sheets: every bond and screw once, no text over another, figures that agree."""

import math
from dataclasses import replace

import numpy as np
import pytest

from baywright.box.generate import generate
from baywright.design import design_job
from baywright.job.read import read_job
from baywright.piece.numbering import distinct
from baywright.release.drawing.lines import light
from baywright.release.drawing.paper import Sheet, Text, overlapping
from baywright.release.inspection import inspection_pages
from baywright.release.sheets import write_sheets
from baywright.release.steps.adapter import adapter_steps
from baywright.release.steps.box import box_steps
from baywright.release.steps.moves import pulled
from baywright.release.steps.pages import PAGE, bead, crosswise, step_pages, wrapped
from baywright.release.steps.rails import rail_steps
from baywright.release.tightening import strip_load, tighten
from baywright.review import review_job
from baywright.rooms import room


@pytest.fixture(scope="module")
def job():
    return read_job(room("shared") / "jobs" / "estate.toml")


@pytest.fixture(scope="module")
def reviewed(job):
    return review_job(design_job(job))


def variants(job):
    """Return boxes of other kinds: rods instead of ledges, two stacks, no feet or lugs, the flange turned out."""
    ask = job.boxes["front"]
    for changed in ({"columns": 2, "count": 4}, {"feet": False, "lift": False}, {"count": 6}):
        yield generate("other", ask.model_copy(update={**changed, "fittings": []}), job.catalogue)


LONG = "A job's title that goes on for rather long"


def clean(pages: list[Sheet]) -> None:
    for page in pages:
        assert not [(a.text, b.text) for a, b in overlapping(page.texts())], page.title
        for text in page.texts():
            corners = text.corners()
            assert (corners.min(axis=0) > (10, 5)).all(), text.text
            assert (corners.max(axis=0) < (PAGE[0] - 5, PAGE[1] - 5)).all(), text.text


def test_every_bond_is_glued_once_and_every_screw_driven_once(job, reviewed):
    for box in [*reviewed.design.boxes.values(), *variants(job)]:
        steps = box_steps(box, job.catalogue)
        bonds = [bond.name for step in steps for bond in step.bonds]
        assert sorted(bonds) == sorted(bond.name for bond in box.assembly.bonds)
        lines = [line.name for step in steps for line in step.lines]
        wanted = [line.name for line in box.assembly.lines if line.screw is not None]
        assert sorted(lines) == sorted(wanted)


def test_a_step_only_uses_what_is_there(job, reviewed):
    box = reviewed.design.boxes["rear"]
    for step in box_steps(box, job.catalogue):
        assert step.new <= step.there
        for bond in step.bonds:
            assert {bond.first, bond.second} <= step.there
        for line in step.lines:
            assert {layer.mark for layer in line.layers} <= step.there, step.title
    order = [step.title for step in box_steps(box, job.catalogue)]
    assert (
        order.index("Dry fit, without adhesive") < order.index("On the bench: floor") < order.index("Closing the box")
    )
    assert order.index("Closing the box") < order.index("Cure") < order.index("Modules, layer 1")
    layers = [title for title in order if title.startswith("Modules")]
    assert len(layers) == box.layout.layers
    assert order.index(layers[-1]) < order.index("Gasket and lid")


def test_pieces_are_drawn_off_the_faces_they_are_glued_to(job, reviewed):
    box = reviewed.design.boxes["front"]
    step = next(s for s in box_steps(box, job.catalogue) if s.title == "On the bench: wall right")
    moves = pulled(box.assembly, step)
    assert "wall right" not in moves
    assert moves["ledge 2 right"] @ np.array([0, -1.0, 0]) > 20, "a ledge comes from inside, -y of the right wall"
    assert moves["foot blind 1"] @ np.array([0, -1.0, 0]) > 0 if "foot blind 1" in moves else True
    assert moves["lift lug right 1"] @ np.array([0, 1.0, 0]) > 20, "a lug from outside"


def test_pages_are_clean(job, reviewed):
    for box in [*reviewed.design.boxes.values(), *variants(job)]:
        steps = box_steps(box, job.catalogue)
        clean(step_pages(steps, light(box.assembly), job.catalogue, "box other", LONG, "A"))


def test_a_beads_volume_is_the_bonds_and_a_third_more(reviewed):
    box = reviewed.design.boxes["front"]
    for bond in box.assembly.bonds:
        area_mm2 = box.assembly.bond_mass(bond).mass / (bond.density * 1e-9) / bond.thickness
        length, across = bead(bond, area_mm2)
        assert math.pi / 4 * across**2 * length == pytest.approx(1.3 * area_mm2 * bond.thickness)
        assert 0.5 < across < 6


def test_torques_against_worked_values(job, reviewed):
    # T = K F d with K 0.2 and 75 % of proof, class 8.8: M6 10.44 N·m (two independent calculations).
    assembly = reviewed.design.boxes["front"].assembly
    hold = next(line for line in assembly.lines if line.joint.startswith("hold-downs"))
    assert hold.size == "M6"
    assert tighten(hold, assembly, job.catalogue).torque == pytest.approx(10.44, abs=0.01)
    # 0.875 π d Le τ: M8 in a metal of 207 MPa carries the least breaking load of class 8.8, 29 290 N, at 6.43 mm.
    assert strip_load(8.0, 1.25, 7.188, 6.43, 207.0) == pytest.approx(29290, rel=2e-3)


def test_thin_metal_limits_the_torque_and_an_insert_its_maker(job, reviewed):
    assembly = reviewed.design.boxes["front"].assembly
    corner = next(line for line in assembly.lines if line.joint.startswith("corner angle"))
    tight = tighten(corner, assembly, job.catalogue)
    piece = next(assembly.by_mark[x.mark].piece for x in corner.layers if x.use == "tapped")
    metal = job.catalogue.material(piece.material)
    deep = piece.thickness
    weakest = min(s.f_ultimate for s in metal.strengths if (s.thickness_most or 99) >= deep)
    row = job.catalogue.screw(corner.size)
    held = strip_load(corner.diameter, row.pitch, row.pitch_diameter, deep, 0.6 * weakest)
    assert tight.preload == pytest.approx(0.5 * held)
    assert f"{deep:g} mm of thread" in tight.why
    lid = next(line for line in assembly.lines if line.joint == "lid")
    assert tighten(lid, assembly, job.catalogue).torque is None
    car = next(line for line in assembly.lines if line.screw is None)
    assert tighten(car, assembly, job.catalogue).torque is None


def test_wrapped_text_keeps_every_word_and_its_width():
    text = "a word and another and a much longerwordthanthat and so on " * 4
    lines = wrapped(text, 2.5, 40)
    assert " ".join(lines).split() == text.split()
    assert all(Text(0, 0, line, 2.5).width <= 40 for line in lines)


def test_the_inspectors_pages_are_clean_and_say_what_is_missing(reviewed):
    parts = {name: distinct(box.assembly) for name, box in reviewed.design.boxes.items()}
    pages = inspection_pages(reviewed, parts)
    clean(pages)
    said = " ".join(text.text for page in pages for text in page.texts())
    assert reviewed.strength
    assert "NO STRENGTH CHECK" not in said
    without = " ".join(t.text for page in inspection_pages(replace(reviewed, strength=()), parts) for t in page.texts())
    assert "NO STRENGTH CHECK" in without
    for words in (
        "mill certificate",
        "licensed engineer",
        "5754-H22",
        "m590",
        "gross",
        reviewed.design.job.digest[:12],
    ):
        assert words in said
    for finding in reviewed.findings:
        if finding.verdict != "pass":
            assert finding.message.split()[0] in said


def test_all_sheets_of_a_job_the_same_every_time(reviewed, tmp_path):
    steps = []
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        paths = write_sheets(reviewed, tmp_path / name, "front", progress=lambda *step: steps.append(step))
    assert steps
    assert all(done < total for _, done, total in steps)
    names = {path.relative_to(tmp_path / "two").as_posix() for path in paths}
    assert {"bom.xlsx", "inspector_revA.pdf", "setting-out_revA.pdf", "front/front-steps_revA.pdf"} <= names
    assert not any(name.startswith("rear") for name in names)
    for path in paths:
        assert (tmp_path / "one" / path.relative_to(tmp_path / "two")).read_bytes() == path.read_bytes(), path.name


def test_sheets_load_no_kernel():
    import subprocess
    import sys

    code = (
        "import sys, tempfile; from pathlib import Path\n"
        "from baywright.design import design_job; from baywright.job.read import read_job\n"
        "from baywright.review import review_job; from baywright.rooms import room\n"
        "from baywright.release.report.page import write_report\n"
        "from baywright.release.drawing.write import write_drawings\n"
        "from baywright.release.drawing.lines import light\n"
        "r = review_job(design_job(read_job(room('shared') / 'jobs' / 'starter.toml')))\n"
        "folder = Path(tempfile.mkdtemp()); write_report(r, folder)\n"
        "box = next(iter(r.design.boxes.values()))\n"
        "write_drawings(box, light(box.assembly), folder, 'job', 'A')\n"
        "assert not {'OCP', 'cadquery'} & set(sys.modules), 'the CAD kernel was loaded'\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=120)


@pytest.fixture(scope="module")
def bolted():
    """Adapters and rails of the demo jobs: name, assembly, steps, catalogue."""
    found = []
    for name in ("adapter-five-speed", "adapter-truck-box", "rails-estate", "rails-saloon"):
        job = read_job(room("shared") / "jobs" / f"{name}.toml")
        made = design_job(job)
        found += [(name, one.assembly, adapter_steps(one), job.catalogue) for one in made.adapters.values()]
        found += [(name, one.assembly, rail_steps(one), job.catalogue) for one in made.rails.values()]
    return found


def test_adapters_and_rails_every_screw_driven_once_where_its_pieces_are(bolted):
    assert len(bolted) == 4
    for name, assembly, steps, _ in bolted:
        driven = [line.name for step in steps for line in step.lines]
        assert sorted(driven) == sorted(line.name for line in assembly.lines if line.screw is not None), name
        added: set[str] = set()
        for step in steps:
            for line in step.lines:
                assert {layer.mark for layer in line.layers} <= step.there, (name, step.title)
            assert step.new <= step.there, step.title
            added |= step.there
        assert added == {item.mark for item in assembly.placed}, name


def test_pages_of_adapters_and_rails_are_clean(bolted):
    for _, assembly, steps, catalogue in bolted:
        clean(step_pages(steps, light(assembly), catalogue, "rails motor", LONG, "A"))


def test_plates_are_drawn_along_their_screws(bolted):
    _, assembly, steps, _ = bolted[0]
    step = next(s for s in steps if s.title == "Plate on the motor")
    moves = pulled(assembly, step)
    # The motor's own bolts come from the gearbox's side, +z, and so does the plate.
    assert moves["motor plate"] @ np.array([0, 0, 1.0]) > 10
    assert moves["motor bolts 1"][2] > moves["motor plate"][2]


def test_torque_into_anothers_thread_and_of_inch_screws(bolted):
    truck = next(one for one in bolted if one[0] == "adapter-truck-box")
    lines = {line.name: line for line in truck[1].lines}
    into_motor = tighten(lines["motor bolts"], truck[1], truck[3])
    assert into_motor.torque is None
    assert "maker" in into_motor.why
    # 3/8-16 grade 5: proof 85 ksi x 0.0775 in2 = 6590 lbf; 75 %, K 0.2: 371 lbf in = 41.9 N·m (SAE J429, by hand).
    inch = tighten(lines["gearbox bolts"], truck[1], truck[3])
    assert inch.torque == pytest.approx(41.9, rel=0.02)


def test_a_lid_is_tightened_from_the_middle_out_side_to_side():
    grid = np.array([(x, y) for y in (0.0, 300.0) for x in range(0, 701, 100)], dtype=float)
    order = crosswise(grid)
    assert sorted(order) == list(range(len(grid)))
    assert {abs(float(grid[i][0]) - 350) for i in order[:4]} == {50.0}
    for one, other in zip(order[::2], order[1::2], strict=True):
        assert grid[one][1] != grid[other][1]
    assert {tuple(grid[i]) for i in order[-4:]} == {(0, 0), (700, 300), (700, 0), (0, 300)}


def test_the_lids_order_counts_every_screw_of_it(job, reviewed):
    box = reviewed.design.boxes["front"]
    step = next(one for one in box_steps(box, job.catalogue) if one.round is not None)
    lid = [line for line in box.assembly.lines if line.joint == "lid" and line.screw is not None]
    assert len(step.round) == sum(len(line.points) for line in lid)
    pages = step_pages([step], light(box.assembly), job.catalogue, "box front", LONG, "A")
    told = {text.text for text in pages[0].texts()}
    assert {str(n) for n in range(1, len(step.round) + 1)} <= told
