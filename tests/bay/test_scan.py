"""Scans in the car: units, alignment, cropping, merging, trust; and the demo's scan."""

from pathlib import Path

import numpy as np
import pytest

from baywright.bay.align import aligned
from baywright.bay.scan import read_scan, thinned
from baywright.bay.scan_file import read_mesh
from baywright.bay.skin import Skin, of_points
from baywright.job.messages import BadInput
from baywright.job.scans import Reference
from baywright.shape.pose import Pose, turned

CAR = np.array([[0.0, 0, 300], [900, 0, 320], [900, 700, 350], [0, 700, 800], [450, 300, 500]])
INTO = Pose(turned("z", 37.0).after(turned("x", 12.0)).turn, np.array([500.0, -80, 1200]))


def points(scale: float = 1.0, off: dict[int, float] | None = None) -> list[Reference]:
    """Return reference points whose scan is `INTO` of the car, in a unit of `scale` mm, some off along x."""
    found = []
    for i, at in enumerate(CAR):
        car = at + np.array([(off or {}).get(i, 0.0), 0, 0])
        found.append(
            Reference.model_validate(
                {"name": f"p{i}", "scan": (INTO(at) / scale).tolist(), "car": [f"{v} mm ± 2 mm" for v in car.tolist()]}
            )
        )
    return found


def description(folder: Path, cloud: np.ndarray, more: str = "", refs: list[Reference] | None = None) -> Path:
    (folder / "cloud.xyz").write_text("".join(f"{x:.6f} {y:.6f} {z:.6f}\n" for x, y, z in cloud.tolist()))
    text = f'file = "cloud.xyz"\n{more}\n'
    for r in refs or []:
        car = ", ".join(f'"{c.value} mm ± {c.tolerance} mm"' for c in r.car)
        text += f'[[points]]\nname = "{r.name}"\nscan = {list(r.scan)}\ncar = [{car}]\n'
    path = folder / "scan.toml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.fixture
def cloud() -> np.ndarray:
    return np.random.default_rng(3).uniform((-50, -50, 300), (950, 750, 900), (400, 3))


def test_points_lay_the_scan_into_the_car(tmp_path, cloud):
    scan = read_scan(description(tmp_path, INTO(cloud), 'units = "mm"', points()))
    assert np.abs(scan.skin.vertices - cloud).max() < 1e-5
    assert scan.alignment is not None
    assert scan.alignment.off.max() < 1e-9
    assert scan.cloud
    assert scan.skin.trust > 3.0


@pytest.mark.parametrize(("unit", "scale"), [("m", 1000.0), ("in", 25.4), ("cm", 10.0), ("mm", 1.0)])
def test_the_unit_follows_from_the_points_and_is_asked_back(tmp_path, cloud, unit, scale):
    scan = read_scan(description(tmp_path, INTO(cloud) / scale, "", points(scale)))
    assert (scan.units, scan.guessed) == (unit, True)
    assert np.abs(scan.skin.vertices - cloud).max() < 1e-2
    (asked,) = [f for f in scan.findings if f.check == "units"]
    assert f'units = "{unit}"' in asked.message
    assert asked.verdict == "look"


def test_a_size_that_could_be_two_units_is_asked_back(tmp_path, cloud):
    with pytest.raises(BadInput, match=r"if in in.*if in cm"):
        read_scan(description(tmp_path, cloud / 25.4 * 3))


def test_an_absurd_size_and_a_single_place_are_refused(tmp_path, cloud):
    with pytest.raises(BadInput, match="no bay of a car"):
        read_scan(description(tmp_path, cloud, 'units = "m"'))
    with pytest.raises(BadInput, match="all points of the scan are one"):
        read_scan(description(tmp_path, np.zeros((5, 3))))


def test_a_wrong_point_is_named(tmp_path, cloud):
    scan = read_scan(description(tmp_path, INTO(cloud), 'units = "mm"', points(off={4: 60.0})))
    (finding,) = [f for f in scan.findings if f.check == "alignment"]
    assert finding.verdict == "look"
    assert "without 'p4'" in finding.message


def test_a_scanner_that_measures_long_is_told(tmp_path, cloud):
    """Every length in the scan 2 % longer than by tape: over the 1 % that taping points may explain."""
    scan = read_scan(description(tmp_path, INTO(cloud), 'units = "mm"', points(scale=1 / 1.02)))
    (finding,) = [f for f in scan.findings if f.check == "scale"]
    assert finding.verdict == "look"
    assert finding.value == pytest.approx(1 / 1.02)
    assert "1.96 % shorter by tape than by scan: the scanner or the units are off" in finding.message


def test_what_is_no_number_is_left_out_and_said(tmp_path, cloud):
    path = description(tmp_path, INTO(cloud), 'units = "mm"', points())
    with (tmp_path / "cloud.xyz").open("a") as file:
        file.write("nan 1 2\n" * 3)
    scan = read_scan(path)
    (finding,) = [f for f in scan.findings if f.check == "whole"]
    assert finding.verdict == "look"
    assert finding.message.startswith("3 of 403 parts are not numbers")


def test_points_on_a_line_and_mirrored_points_are_refused():
    line = [
        Reference.model_validate({"name": f"p{i}", "scan": [i * 100.0, 0.0, 0.0], "car": [i * 100.0, 0.0, 0.0]})
        for i in range(3)
    ]
    with pytest.raises(ValueError, match="nearly on one line"):
        aligned(line, 1.0, 2.0)
    mirrored = [p.model_copy(update={"scan": (-p.scan[0], p.scan[1], p.scan[2])}) for p in points()]
    with pytest.raises(ValueError, match="mirror image"):
        aligned(mirrored, 1.0, 2.0)


def test_what_the_alignment_may_be_off_holds_for_noisy_points():
    """Of many noisy readings, about one in twenty lies farther off in a direction than told; the norm a little more."""
    rng = np.random.default_rng(5)
    at = np.array([450.0, 350, 500])
    beyond = 0
    for _ in range(200):
        refs = [p.model_copy(update={"scan": tuple(np.array(p.scan) + rng.normal(0, 2.0, 3))}) for p in points()]
        one = aligned(refs, 1.0, 2.0)
        told = one.error(at) / one.spread * 2.0
        beyond += abs((one.pose(INTO(at)) - at)[0]) > told
    assert beyond <= 20


def test_cropping_keeps_what_reaches_in(tmp_path, cloud):
    more = 'units = "mm"\ncrop = { low = [0, 0, 300], high = [400, 400, 600] }'
    scan = read_scan(description(tmp_path, cloud, more))
    inside = ((cloud >= (0, 0, 300)) & (cloud <= (400, 400, 600))).all(axis=1)
    assert len(scan.skin) == inside.sum()
    with pytest.raises(BadInput, match="leaves nothing"):
        read_scan(description(tmp_path, cloud, more.replace("300]", "-99]").replace("600]", "-50]")))


def test_merging_moves_nothing_farther_than_told(demo_scan):
    rng = np.random.default_rng(1)
    x, y = np.meshgrid(np.linspace(0, 500, 90), np.linspace(0, 300, 60), indexing="ij")
    at = np.column_stack([x.ravel(), y.ravel(), rng.normal(0, 1, x.size)])
    faces = demo_scan.grid(90, 60)
    small, moved = thinned(Skin(at, faces), 20.0)
    assert len(small) < len(faces) / 4
    assert 0 < moved <= 20 * np.sqrt(3)
    # Every old point has the new skin within that distance.
    from baywright.bay.gaps import least_distance
    from baywright.piece.solid import Block
    from baywright.shape.pose import shifted

    for p in at[rng.integers(0, len(at), 40)]:
        assert least_distance([("", Block(p - 1e-6, p + 1e-6))], shifted(), small, 60.0) <= moved + 1e-3
    dots, moved = thinned(of_points(at), 20.0)
    assert len(dots) < len(at) / 4
    assert moved > 0


def test_merging_keeps_strips_thinner_than_a_cell():
    """A 3 mm strip and a lone sliver shrink to lines and points; what stood there still stands there."""
    from baywright.bay.gaps import least_distance
    from baywright.piece.solid import Block
    from baywright.shape.pose import shifted

    x = np.arange(0.0, 401.0, 4.0)
    strip = np.concatenate([np.column_stack([x, 0 * x + y, 0.3 * x]) for y in (0.0, 3.0)])
    n, i = len(x), np.arange(len(x) - 1)
    faces = np.concatenate([np.column_stack([i, i + 1, i + n]), np.column_stack([i + 1, i + n + 1, i + n])])
    sliver = np.array([[100.0, 200, 50], [102, 201, 51], [101, 202, 50]])
    skin = Skin(np.concatenate([strip, sliver]), np.concatenate([faces, [[2 * n, 2 * n + 1, 2 * n + 2]]]))
    small, moved = thinned(skin, 25.0)
    assert 0 < len(small) < len(faces) / 3
    for p in (*strip[::9], *sliver):
        assert least_distance([("", Block(p - 1e-6, p + 1e-6))], shifted(), small, 60.0) <= moved + 1e-3


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('file = "none.ply"', "no such file"),
        ("accuracy = 2", "file"),
        ('file = "cloud.xyz"\nunits = "kg"', "does not measure"),
        ('file = "cloud.xyz"\n[[points]]\nname = "a"\nscan = [0, 0, 0]\ncar = [0, 0, 0]', "at least three points"),
        ('file = "cloud.xyz"\n[[points]]\nname = "a"\nscan = [0, "x", 0]\ncar = [0, 0, 0]', "number"),
        ('file = "cloud.xyz"\ncrop = { low = [0, 0, 0], high = [1, 1, 0] }', "must be more than low"),
    ],
)
def test_a_wrong_description_gets_its_sentence(tmp_path, text, said):
    (tmp_path / "cloud.xyz").write_text("0 0 0\n")
    (tmp_path / "scan.toml").write_text(text)
    with pytest.raises(BadInput, match=said):
        read_scan(tmp_path / "scan.toml")


def test_the_demo_scan_is_what_its_script_makes(demo_scan, scanned):
    vertices, faces, _ = read_mesh(demo_scan.TARGET)
    points, triangles = demo_scan.scan()
    assert np.abs(vertices - points).max() <= 1 / 16  # another machine may round a last digit the other way
    assert np.array_equal(faces, triangles)
    assert demo_scan.TARGET.stat().st_size < 250_000
    alignment = scanned.alignment
    assert set(alignment.names) == set(demo_scan.MARKS)
    assert {f.verdict for f in scanned.findings} == {"pass"}
    # The bulkhead's plane, 334 mm behind the axle, within what the scan says of itself.
    corner = scanned.skin.vertices
    bulkhead = corner[(corner[:, 0] > 329) & (np.abs(corner[:, 1]) < 150) & (np.abs(corner[:, 2] - 550) < 100)]
    assert len(bulkhead) > 50
    assert abs(np.median(bulkhead[:, 0]) - 334) < scanned.skin.trust
