"""The demo readings: made here from known holes, with 0.05 mm noise and one reading 1.5 mm wrong, and found out."""

import math
import time
from pathlib import Path

import numpy as np
import pytest

from baywright.adapter.file import pattern_of, pattern_of_readings, read_measured
from baywright.adapter.measured_picture import save_picture
from baywright.adapter.measured_review import review_readings
from baywright.job.catalogue import load_catalogue
from baywright.rooms import room
from baywright.shape.pattern import Pattern

FILE = room("shared") / "readings" / "demo-bell.toml"
NOISE, WRONG, WRONG_BY = 0.05, ("inside", "2-5"), 1.5
HEAD = """# Readings on the demo bellhousing, invented: made from known holes with 0.05 mm noise (recipe: a test).
# One of them is 1.5 mm wrong. Find it: baywright pattern shared/readings/demo-bell.toml

name = "demo-bell"
description = "demo bellhousing as measured"
source = "invented"
seen_from = "motor"
walking = "1, 4, 7 clockwise seen from the motor"
level = "7 to 2"
uncertainty = "0.05 mm"

[holes]
names = ["1", "2", "3", "4", "5", "6", "7", "8"]
kind = "through"
thread = "M10"
"""


def demo_text(truth: Pattern) -> str:
    """Return the readings file: every hole gauged, each to its first, second and fourth neighbour, all to the shaft."""
    rng = np.random.default_rng(2026)
    holes = truth.bolts
    n, shaft = len(holes), 28.0
    tables: dict[str, dict[str, float]] = {"inside": {}, "outside": {}, "diameter": {}}
    for h in holes:
        tables["diameter"][h.name] = h.diameter + rng.normal() * NOISE
    tables["diameter"]["shaft"] = shaft + rng.normal() * NOISE
    for step in (1, 2, 4):
        for k in range(n if step < 4 else n // 2):
            a, b = sorted((k, (k + step) % n))
            far = math.dist((holes[a].x, holes[a].y), (holes[b].x, holes[b].y))
            how = "outside" if step == 1 else "inside"
            half = (holes[a].diameter + holes[b].diameter) / 2
            value = far + (half if how == "outside" else -half) + rng.normal() * NOISE
            tables[how][f"{holes[a].name}-{holes[b].name}"] = value
    far = math.dist((holes[1].x, holes[1].y), (holes[4].x, holes[4].y))
    tables["inside"]["2-5"] = far - 11 + rng.normal() * NOISE
    for h in holes:
        tables["inside"][f"{h.name}-shaft"] = h.radius - (h.diameter + shaft) / 2 + rng.normal() * NOISE
    kind, key = WRONG
    tables[kind][key] += WRONG_BY
    text = HEAD
    for name, table in tables.items():
        text += f"\n[{name}]\n" + "".join(f'"{key}" = {value:.2f}\n' for key, value in table.items())
    return text


@pytest.fixture(scope="module")
def truth() -> Pattern:
    return pattern_of(load_catalogue(), "demo-bell-8")


def test_the_file_is_what_the_recipe_makes(truth: Pattern) -> None:
    assert FILE.read_text() == demo_text(truth)


def test_the_wrong_reading_is_named_and_the_holes_are_within_a_tenth(truth: Pattern) -> None:
    start = time.perf_counter()
    _, measured = read_measured(FILE, load_catalogue())
    seconds = time.perf_counter() - start
    (suspect,) = measured.suspects
    assert suspect.reading.label == "inside 2-5"
    assert suspect.error == pytest.approx(WRONG_BY, abs=0.2)
    assert not suspect.rivals
    # The demo's level line runs from hole 7 to hole 2: turn the true holes as the file does.
    true = np.array([(h.x, h.y) for h in truth.bolts])
    along = true[1] - true[6]
    angle = -math.atan2(along[1], along[0])
    c, s = math.cos(angle), math.sin(angle)
    off = np.linalg.norm(true @ np.array([[c, -s], [s, c]]).T - measured.positions, axis=1)
    assert off.max() < 0.1
    print(f"demo readings: {seconds:.3f} s, largest error {off.max():.3f} mm")


def test_its_review_says_so_in_one_sentence_and_knows_the_pattern(truth: Pattern) -> None:
    catalogue = load_catalogue()
    file, measured = read_measured(FILE, load_catalogue())
    result = review_readings(file, measured, catalogue)
    assert result.findings[0].check == "wrong reading"
    assert "inside 2-5 is off by +1.5" in result.findings[0].message
    assert sum(f.verdict == "fail" for f in result.findings) == 1
    assert result.wide_enough == "as measured"
    pattern = pattern_of_readings(file, measured, catalogue)
    assert [h.name for h in pattern.holes] == list("12345678")
    assert all(0 < h.position < 0.5 for h in pattern.holes)


def test_the_picture_is_written_in_every_format_and_twice_the_same(tmp_path: Path) -> None:
    _, measured = read_measured(FILE, load_catalogue())
    for suffix in (".svg", ".png", ".pdf"):
        first, second = (save_picture(measured, tmp_path / f"{n}{suffix}").read_bytes() for n in ("a", "b"))
        assert len(first) > 2000
        assert first == second


if __name__ == "__main__":
    FILE.parent.mkdir(exist_ok=True)
    FILE.write_text(demo_text(pattern_of(load_catalogue(), "demo-bell-8")))
