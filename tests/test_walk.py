"""One figure walked from where a person writes it to the file that is cut: the module count, and a hole's diameter."""

from pathlib import Path

import ezdxf
import pytest
from typer.testing import CliRunner

from baywright.cli import app
from baywright.design import design_job
from baywright.job.read import read_job
from baywright.piece.numbering import distinct
from baywright.piece.plate import Plate
from baywright.release.dxf import write_cut_file

ROOT = Path(__file__).resolve().parents[1]


def job_file(folder: Path, *changes: tuple[str, str]) -> Path:
    """Return the starter job in a folder, some of its text changed."""
    text = (ROOT / "shared" / "jobs" / "starter.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert text.count(old) >= 1, old
        text = text.replace(old, new, 1)
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return path


def long_wall(job: Path, folder: Path) -> tuple[float, set[float]]:
    """Return the long wall's height and the diameters of its round holes, mm, as its cut file says them."""
    made = design_job(read_job(job))
    box = made.boxes["front"].assembly
    (part, *_) = (p for p in distinct(box) if isinstance(p.piece, Plate) and "long-wall" in p.number)
    folder.mkdir()
    path = write_cut_file(part, box, folder, made.job.catalogue.cutter(made.job.asked.cutter), "A")
    space = ezdxf.readfile(path).modelspace()
    cut = [e for e in space if e.dxf.layer in ("OUTER_CUT", "INNER_CUT")]
    high = max(y for e in cut if e.dxftype() == "LWPOLYLINE" for _, y, *_ in e.get_points())
    low = min(y for e in cut if e.dxftype() == "LWPOLYLINE" for _, y, *_ in e.get_points())
    return high - low, {round(2 * e.dxf.radius, 4) for e in cut if e.dxftype() == "CIRCLE"}


def test_a_module_more_makes_the_wall_one_module_higher(tmp_path: Path) -> None:
    """By the module's own data: its height, and the gap that it asks for over the next one."""
    walls = []
    for count in (2, 3, 4):
        job = job_file(tmp_path, ("count = 3", f"count = {count}"))
        walls.append(long_wall(job, tmp_path / str(count))[0])
    made = design_job(read_job(job)).boxes["front"]
    low = [item.pose.shift[2] for item in made.assembly.placed if item.mark.startswith("module")]
    step = sorted(low)[1] - sorted(low)[0]
    assert walls[1] - walls[0] == pytest.approx(step, abs=1.0)  # walls are cut to whole millimetres
    assert walls[2] - walls[0] == pytest.approx(2 * step, abs=1.0)
    assert step >= made.layout.module.module.size[2]


@pytest.mark.parametrize(("series", "diameter"), [("fine", 5.3), ("medium", 5.5), ("coarse", 5.8)])
def test_a_series_of_holes_named_in_a_style_is_in_the_cut_file(tmp_path: Path, series: str, diameter: float) -> None:
    """ISO 273, clearance holes of M5: 5.3, 5.5, 5.8 mm; the style stands in the job's own `parts/`."""
    style = tmp_path / "parts" / "styles" / "mine.toml"
    done = CliRunner().invoke(app, ["parts", "style", "workshop", "--copy", str(style)])
    assert done.exit_code == 0, done.output
    text = style.read_text(encoding="utf-8")
    joint = next(line for line in text.splitlines() if line.startswith("joint_screw"))
    style.write_text(text.replace(joint, joint.replace('"medium"', f'"{series}"')), encoding="utf-8")
    job = job_file(tmp_path, ("[boxes.front]", '[boxes.front]\nstyle = "mine"'))
    _, holes = long_wall(job, tmp_path / "cut")
    assert diameter in holes
    assert not holes & ({5.3, 5.5, 5.8} - {diameter})
