"""Outlines, windows and least metal, against shapely."""

import math
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright.adapter.outline import check_pockets, least_metal, outline, pocket_loop, windows
from baywright.finding import CannotBuild
from baywright.job.adapters import AdapterAsk, Pocket
from baywright.job.messages import BadInput
from baywright.shape.hull import hull_of_discs
from baywright.shape.loop import area, as_circle, circle, polygon


def ask(**more) -> AdapterAsk:
    return AdapterAsk.model_validate({"motor": "m", "gearbox": "g", "thickness": 20, **more})


def ring(count: int, radius: float, seed: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    a = 2 * np.pi * (np.arange(count) + rng.uniform(-0.3, 0.3, count)) / count
    r = radius * rng.uniform(0.85, 1.15, count)
    return np.column_stack([r * np.sin(a), r * np.cos(a)])


def region(loop: np.ndarray) -> shapely.Polygon:
    return shapely.Polygon(polygon(loop, 1e-3))


@given(st.integers(4, 12), st.integers(0, 5000), st.floats(6, 25))
@settings(max_examples=25, deadline=None)
def test_windows_keep_their_web_to_everything(count: int, seed: int, web: float) -> None:
    holes = ring(count, 130, seed)
    radii = np.full(count, 7.0)
    edge = hull_of_discs(holes, np.full(count, 22.0))
    pocket = circle(0, -95, 40)
    found = windows(edge, [pocket], web, 55.0, holes, radii)
    metal = region(edge)
    solids = [shapely.Point(*h).buffer(r, 128) for h, r in zip(holes, radii, strict=True)]
    solids += [region(pocket), shapely.Point(0, 0).buffer(55, 256)]
    for k, loop in enumerate(found):
        window = region(loop)
        assert window.is_valid
        assert metal.contains(window)
        # A grid finds them: a web may be short by what lies between its points.
        assert metal.exterior.distance(window) > web - 1.0
        for other in [*solids, *(region(w) for w in found[:k])]:
            assert other.distance(window) > web - 1.0


def test_a_plate_with_room_gets_a_window_in_every_gap() -> None:
    a = np.arange(8) * np.pi / 4
    holes = np.column_stack([120 * np.sin(a), 120 * np.cos(a)])
    edge = hull_of_discs(holes, np.full(8, 20.0))
    found = windows(edge, [], 8.0, 60.0, holes, np.full(8, 5.5))
    assert len(found) == 8
    assert {round(abs(area(w)), 3) for w in found} == {round(abs(area(found[0])), 3)}
    assert least_metal(edge, [*found, circle(0, 0, 120), *(circle(x, y, 11) for x, y in holes)])[0] >= 7.99


@given(st.integers(2, 9), st.integers(0, 5000))
@settings(max_examples=40, deadline=None)
def test_least_metal_is_what_shapely_measures(count: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    holes = ring(count, 90, seed)
    wide = rng.uniform(8, 40, count)
    edge = hull_of_discs(holes, np.full(count, 45.0))
    loops = [circle(x, y, d) for (x, y), d in zip(holes, wide, strict=True)]
    value, _ = least_metal(edge, loops, 0.005)
    discs = [shapely.Point(*h).buffer(d / 2, 512) for h, d in zip(holes, wide, strict=True)]
    apart = [a.distance(b) for i, a in enumerate(discs) for b in discs[:i]]
    exact = min([*apart, *(region(edge).exterior.distance(d) for d in discs)])
    if exact > 0.01:
        assert value == pytest.approx(exact, abs=0.01)
    else:
        assert value < 0.02


def test_openings_that_cross_leave_less_than_no_metal() -> None:
    edge = circle(0, 0, 200)
    assert least_metal(edge, [circle(0, 0, 40), circle(10, 0, 8)])[0] < 0
    assert least_metal(edge, [circle(0, 0, 40), circle(21, 0, 8)])[0] < 0
    assert least_metal(edge, [circle(90, 0, 40)])[0] < 0


def test_round_and_hull_outlines_hold_the_same_bosses() -> None:
    bosses = [(100.0, 0.0, 20.0), (-40.0, 80.0, 15.0), (-70.0, -70.0, 25.0)]
    hull = outline(ask(), bosses, [(0, 0, 60)], Path())
    disc = outline(ask(outline="round"), bosses, [(0, 0, 60)], Path())
    found = as_circle(disc)
    assert found is not None
    assert found[2] / 2 == pytest.approx(math.hypot(70, 70) + 25)
    for x, y, r in bosses:
        for loop in (hull, disc):
            assert region(loop).buffer(1e-2).contains(shapely.Point(x, y).buffer(r))


@pytest.fixture
def drawing(tmp_path: Path):
    def write(units: int = 4, **layers) -> Path:
        doc = ezdxf.new("R2010")
        doc.header["$INSUNITS"] = units
        for draw in layers.values():
            draw(doc.modelspace())
        path = tmp_path / "plate.dxf"
        doc.saveas(path)
        return path

    return write


def loose(msp) -> None:
    """Lines and arcs, out of order and some of them backwards, that make a rounded rectangle."""
    attribs = {"layer": "EDGE"}
    msp.add_line((10, 0), (90, 0), dxfattribs=attribs)
    msp.add_line((100, 50), (100, 10), dxfattribs=attribs)
    msp.add_arc((90, 10), 10, 270, 0, dxfattribs=attribs)
    msp.add_line((0, 10), (0, 50), dxfattribs=attribs)
    msp.add_arc((90, 50), 10, 0, 90, dxfattribs=attribs)
    msp.add_arc((10, 10), 10, 180, 270, dxfattribs=attribs)
    msp.add_line((90, 60), (10, 60), dxfattribs=attribs)
    msp.add_arc((10, 50), 10, 90, 180, dxfattribs=attribs)


def test_an_outline_from_loose_lines_and_arcs(drawing) -> None:
    path = drawing(edge=loose)
    row = {"file": path.name, "layer": "EDGE", "origin": [50, 30]}
    loop = outline(ask(outline=row), [(0, 0, 20)], [], path.parent)
    assert abs(area(loop)) == pytest.approx(100 * 60 - (4 - math.pi) * 100)
    with pytest.raises(CannotBuild, match=r"5\.0 mm too near to what stands at \(0\.0, 0\.0\)"):
        outline(ask(outline=row), [(0, 0, 35)], [], path.parent)


def test_an_outline_in_inches_is_scaled(drawing) -> None:
    path = drawing(units=1, edge=lambda m: m.add_circle((0, 0), 4, dxfattribs={"layer": "EDGE"}))
    loop = outline(ask(outline={"file": path.name, "layer": "EDGE"}), [(0, 0, 20)], [], path.parent)
    assert as_circle(loop)[2] == pytest.approx(203.2)


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({"file": "none.dxf", "layer": "EDGE"}, "can't be read"),
        ({"file": "plate.dxf", "layer": "EDGES"}, "nothing on layer 'EDGES'; did you mean 'EDGE'"),
    ],
)
def test_drawings_that_cannot_be_used(drawing, row: dict, said: str) -> None:
    path = drawing(edge=loose)
    with pytest.raises(BadInput, match=said):
        outline(ask(outline=row), [(0, 0, 5)], [], path.parent)


def test_an_open_outline_says_where(drawing) -> None:
    def open_(msp) -> None:
        loose(msp)
        msp.delete_entity(msp[0])

    path = drawing(edge=open_)
    with pytest.raises(BadInput, match="is open at"):
        outline(ask(outline={"file": "plate.dxf", "layer": "EDGE"}), [(0, 0, 5)], [], path.parent)


def test_pockets_lie_in_the_plate_with_their_wall() -> None:
    edge = circle(0, 0, 300)
    row = {"name": "starter", "at": [100, 0], "diameter": 60, "wall": 12}
    check_pockets(edge, [Pocket.model_validate(row)])
    with pytest.raises(CannotBuild, match=r"pocket 1 \(starter\) has 10\.0 mm of metal"):
        check_pockets(edge, [Pocket.model_validate({**row, "at": [110, 0]})])
    window = Pocket.model_validate({"name": "sensor", "at": [0, 0], "size": [40, 20], "corner_radius": 4, "turn": 90})
    assert abs(area(pocket_loop(window))) == pytest.approx(800 - (4 - math.pi) * 16)
