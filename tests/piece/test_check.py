"""The checks of every assembly, each on pieces small enough that its figure is plain to see."""

import math

import numpy as np
import pytest

from baywright.piece.assembly import Assembly, Placed
from baywright.piece.bought import Bought
from baywright.piece.check import (
    PITCH_SOURCE,
    driver_findings,
    edge_findings,
    overlap_findings,
    pitch_findings,
    web_findings,
)
from baywright.piece.extrusion import Extrusion, Stock
from baywright.piece.joint import Bond, Layer, ScrewLine
from baywright.piece.plate import Plate
from baywright.piece.scene import scene
from baywright.piece.solid import Block, Hole, Round
from baywright.shape.loop import circle, rectangle
from baywright.shape.pose import Pose, shifted, turned

SCREW = Bought(
    role="screw",
    name="M5x16",
    mass=0.004,
    bodies_=(Round(np.zeros(3), np.array([0.0, 0, 1]), 5.0, 8.5), Round(np.zeros(3), np.array([0.0, 0, -1]), 16, 5.0)),
)


def hole(x: float, y: float, line: str = "row", diameter: float = 5.5, face: str = "top") -> Hole:
    return Hole(face=face, loop=circle(x, y, diameter), depth=3, use="clearance", line=line)


def sheet(*holes: Hole, role: str = "wall", thickness: float = 3.0, outline=None) -> Plate:
    return Plate(
        role=role,
        outline=rectangle(0, 0, 200, 60) if outline is None else outline,
        holes=holes,
        thickness=thickness,
        material="5754-H22",
        density=2660.0,
    )


def row(points, *marks: str, name: str = "row", **more) -> ScrewLine:
    """Return M5 screws driven downwards from z = 0 through the pieces named."""
    return ScrewLine(
        name=name,
        joint="wall to angle",
        screw=more.pop("screw", SCREW),
        size=more.pop("size", "M5"),
        length=16.0,
        points=np.array([(x, y, 0.0) for x, y in points]),
        direction=np.array([0.0, 0, -1]),
        layers=more.pop("layers", tuple(Layer(mark, "clearance", 5.5) for mark in marks)),
        **more,
    )


def alone(piece, pose: Pose | None = None, *lines: ScrewLine) -> Assembly:
    return Assembly(name="b", placed=(Placed("one", piece, pose or shifted()),), lines=lines)


# --- edges --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("y", "verdict"), [(10.0, "pass"), (8.0, "fail")])
def test_the_hole_nearest_an_edge_is_the_one_told(y: float, verdict: str) -> None:
    piece = sheet(hole(100, 30), hole(185, y), hole(20, 20))
    stands = shifted(1000, 0, 500).after(turned("z", 90))
    (found,) = edge_findings(alone(piece, stands, row([(0, 0)])))
    assert (found.check, found.verdict, found.subject, found.where) == ("edge distance", verdict, "b", ("one",))
    assert (found.value, found.limit, found.unit) == (pytest.approx(y), 10, "mm")
    assert found.margin == pytest.approx(y / 10 - 1)
    assert found.at == pytest.approx((1000 - y, 185, 503))  # on the seen side, where the plate stands
    assert f"{y:.1f} mm = {y / 5:.2f} d of M5" in found.message
    assert ("move the screw" in found.message) == (verdict == "fail")


def test_the_edge_that_counts_is_in_diameters_of_its_own_screw() -> None:
    piece = sheet(hole(100, 12, "large"), hole(50, 11, "small"))
    (found,) = edge_findings(alone(piece, None, row([], name="large", size="M8"), row([], name="small", size="M5")))
    assert (found.value, found.limit, found.verdict) == (pytest.approx(12), 16, "fail")


def test_holes_that_no_screw_asked_for_and_bought_things_have_no_edge_check() -> None:
    piece = sheet(hole(100, 2, line=""), hole(50, 3, "feet"))
    bought = Bought(role="module", name="m", mass=1.0)
    both = Assembly(
        name="b", placed=(Placed("m", bought, shifted()), Placed("one", piece, shifted())), lines=(row([], size=""),)
    )
    assert edge_findings(both) == []


def test_the_worst_of_each_role_is_told() -> None:
    stand = shifted()
    pieces = (
        Placed("m", Bought(role="module", name="m", mass=1.0), stand),
        Placed("a", sheet(hole(100, 30)), stand),
        Placed("b", sheet(hole(100, 25)), stand),
        Placed("c", sheet(hole(100, 9), role="floor"), stand),
    )
    found = {f.where: f for f in edge_findings(Assembly(name="b", placed=pieces, lines=(row([]),)))}
    assert {where: round(f.value, 6) for where, f in found.items()} == {("b",): 25, ("c",): 9}
    assert found[("b",)].message.startswith("wall: ")
    assert found[("c",)].message.startswith("floor: ")
    # The least share of what its own thickness asks, not the least metal.
    thin, thick = cut(circle(20, 20, 6), circle(29.5, 20, 6)), cut(circle(20, 20, 6), circle(32.6, 20, 6), thickness=6)
    both = Assembly(name="b", placed=(Placed("thin", thin, stand), Placed("thick", thick, stand)))
    (web,) = web_findings(both)
    assert (web.where, web.value, web.limit) == (("thick",), pytest.approx(6.6), 6)


def test_a_round_plates_edge_is_its_circle() -> None:
    (found,) = edge_findings(alone(sheet(hole(80, 100), outline=circle(100, 100, 200)), None, row([])))
    assert found.value == pytest.approx(80)


@pytest.mark.parametrize(
    ("shape", "face", "y", "least"),
    [
        ("angle", "leg x", 28, 28),  # 12 from the heel, where the metal goes on; 28 from the toe
        ("angle", "leg y", 28, 2),  # 2 from the toe of the short leg
        ("channel", "web", 3, 50),  # both sides go on round a corner: only the ends are free
        ("channel", "flange low", 36, 36),
        ("channel", "flange high", 36, 4),
        ("bar", "low", 36, 4),
    ],
)
def test_of_a_section_toes_and_ends_count_and_not_the_heel(shape: str, face: str, y: float, least: float) -> None:
    stock = Stock(
        name=shape, shape=shape, width=40, height=30, wall=3, material="6060-T66", density=2700, stock_length=6000
    )
    piece = Extrusion(role="angle", stock=stock, length=100, holes=(hole(50, y, face=face),))
    (found,) = edge_findings(alone(piece, None, row([])))
    assert found.value == pytest.approx(least)


@pytest.mark.parametrize(("x", "least"), [(3.5, 3.5), (96, 4), (50, 15)])
def test_of_a_section_both_ends_count(x: float, least: float) -> None:
    stock = Stock(
        name="bar", shape="bar", width=40, height=30, wall=30, material="6060-T66", density=2700, stock_length=6000
    )
    piece = Extrusion(role="bearer", stock=stock, length=100, holes=(hole(x, 15, face="low"),))
    (found,) = edge_findings(alone(piece, None, row([])))
    assert found.value == pytest.approx(least)
    assert found.source


# --- pitch --------------------------------------------------------------------------------------------------------


def bonded(points, region=None, stands: Pose | None = None, *more: ScrewLine) -> Assembly:
    stands = stands or shifted()
    bond = Bond(
        name="bond",
        first="one",
        second="two",
        region=rectangle(0, 0, 300, 20) if region is None else region,
        pose=stands,
        thickness=0.25,
        adhesive="epoxy",
        density=1100,
    )
    line = row([], "two", "three", "one")
    points = stands(np.array([(x, y, 0.0) for x, y in points]).reshape(-1, 3))
    line = ScrewLine(**(vars(line) | {"points": points}))
    return Assembly(name="b", placed=(), bonds=(bond,), lines=(line, *more))


@pytest.mark.parametrize("marks", [("one", "two"), ("one", "two", "three"), ("three", "one", "two")])
def test_screws_count_for_every_two_pieces_that_they_pass(marks: tuple[str, ...]) -> None:
    screws = row([(20, 10), (60, 10)], *marks, name="more")
    found = by_check(pitch_findings(bonded([], None, None, screws), 70, 300))
    assert found["pitch"].value == pytest.approx(40)


def by_check(found) -> dict:
    return {f.check: f for f in found}


@pytest.mark.parametrize("along", ["x", "y"])
def test_the_longest_gap_the_first_screw_and_the_shortest_gap(along: str) -> None:
    places = [(250, 10), (15, 10), (110, 10), (95, 10)]
    region = rectangle(0, 0, 300, 20)
    if along == "y":
        places, region = [(y, x) for x, y in places], rectangle(0, 0, 20, 300)
    stands = shifted(0, 0, 40).after(turned("x", 90))
    stray = row([(130, 10), (131, 10)], "one", "elsewhere", name="other")  # of another joint
    found = by_check(pitch_findings(bonded(places, region, stands, stray), most=100, first=40))

    def at(s: float) -> tuple[float, ...]:
        return tuple(stands((s, 10, 0) if along == "x" else (10, s, 0)).tolist())

    pitch = found["pitch"]
    assert (pitch.verdict, pitch.value, pitch.limit) == ("look", pytest.approx(140), 100)
    assert pitch.at == pytest.approx(at(180))
    assert pitch.margin == pytest.approx(-0.4)
    assert pitch.where == ("bond",)
    assert "longest gap between screws 140.0 mm, over 100 mm" in pitch.message
    first = found["first screw"]
    assert (first.verdict, first.value, first.limit) == ("look", pytest.approx(50), 40)
    assert first.at == pytest.approx(at(150))
    assert "first screw from an end 50.0 mm" in first.message
    least = found["least pitch"]
    assert (least.verdict, least.value, least.limit, least.unit) == ("pass", pytest.approx(3), 3, "d")
    assert least.at == pytest.approx(at(102.5))
    assert least.margin == pytest.approx(0)


def test_a_regular_row_passes_and_a_crowded_one_is_looked_at() -> None:
    assert {f.verdict for f in pitch_findings(bonded([(x, 10) for x in (40, 140, 240)]), 100, 60)} == {"pass"}
    found = by_check(pitch_findings(bonded([(40, 10), (54, 10)]), 400, 400))
    assert (found["least pitch"].verdict, found["least pitch"].value) == ("look", pytest.approx(2.8))


def test_the_ends_of_a_bond_are_its_own_and_not_the_frames() -> None:
    far = bonded([(-40, 10), (60, 10), (160, 10)], rectangle(-100, 0, 200, 20))
    found = by_check(pitch_findings(far, 100, 60))
    assert (found["first screw"].value, found["first screw"].verdict) == (pytest.approx(60), "pass")
    for f in found.values():
        assert (f.where, f.source) == (("bond",), PITCH_SOURCE)
    assert (found["pitch"].unit, found["first screw"].unit) == ("mm", "mm")


def test_a_bond_without_a_screw_is_told_and_a_narrow_one_needs_none() -> None:
    found = by_check(pitch_findings(bonded([]), 100, 40))
    assert set(found) == {"first screw"}
    none = found["first screw"]
    assert (none.verdict, none.value, none.margin) == ("look", None, -1)
    assert "no screw" in none.message
    assert none.at == pytest.approx((150, 10, 0))
    assert pitch_findings(bonded([], rectangle(0, 0, 300, 7.9)), 100, 40) == []
    assert len(pitch_findings(bonded([], rectangle(0, 0, 300, 8)), 100, 40)) == 1


# --- webs ---------------------------------------------------------------------------------------------------------


def cut(*loops, thickness: float = 3.0, role: str = "wall") -> Plate:
    holes = tuple(Hole(face="top", loop=loop, depth=thickness, use="cut-out") for loop in loops)
    return sheet(*holes, thickness=thickness, role=role)


@pytest.mark.parametrize(
    ("loops", "least"),
    [
        ((circle(20, 20, 6), circle(29, 32, 4)), 10),  # 15 between centres less 3 and 2
        ((rectangle(10, 10, 20, 20), rectangle(23, 24, 40, 50)), 5),  # 3 and 4 between corners
        ((rectangle(10, 10, 20, 20), rectangle(22.5, 12, 40, 50)), 2.5),
        ((rectangle(10, 10, 20, 20), circle(30, 15, 14)), 3),
        ((circle(20, 20, 6), circle(24, 20, 6), circle(100, 20, 6)), -2),
        ((rectangle(10, 10, 20, 20), rectangle(18, 15, 40, 50)), -2),
    ],
)
def test_metal_between_holes(loops, least: float) -> None:
    (found,) = web_findings(alone(cut(*loops)))
    assert found.value == pytest.approx(least)
    assert (found.verdict == "fail") == (least < 3)
    assert (found.check, found.limit, found.unit, found.where) == ("web", 3, "mm", ("one",))
    assert found.margin == pytest.approx(least / 3 - 1)
    assert f"{least:.1f} mm" in found.message


def test_the_web_asked_is_the_sheets_thickness_and_two_millimetres() -> None:
    def limit(thickness: float, role: str = "wall") -> list:
        pair = circle(20, 20, 6), circle(60, 20, 6)
        return [f.limit for f in web_findings(alone(cut(*pair, thickness=thickness, role=role)))]

    assert limit(1.5) == [2]
    assert limit(9.5) == [9.5]
    assert limit(12) == [2]  # a plate that is milled, not cut through
    assert limit(3, "gasket") == []
    assert web_findings(alone(cut(circle(20, 20, 6)))) == []


def test_the_least_web_is_told_by_what_is_asked_of_its_own_sheet() -> None:
    """10 mm in a sheet of 9.5 are less to spare than 6 in one of 3."""
    thick = cut(circle(20, 20, 10), circle(40, 20, 10), thickness=9.5)
    thin = cut(circle(20, 20, 10), circle(36, 20, 10))
    for pair in ((thick, thin), (thin, thick)):
        placed = tuple(Placed(f"p{i}", piece, shifted()) for i, piece in enumerate(pair))
        (found,) = web_findings(Assembly(name="b", placed=placed))
        assert (found.value, found.limit) == (pytest.approx(10), 9.5)


# --- room ---------------------------------------------------------------------------------------------------------


def thing(mark: str, low, high, stage: int = 0) -> Placed:
    body = Block(np.array(low, dtype=float), np.array(high, dtype=float))
    return Placed(mark, Bought(role="thing", name=mark, mass=1.0, bodies_=(body,)), shifted(), stage)


def reached(*others: Placed, driver: float = 50.0, **more) -> list:
    """Return the driver's findings of two screws at x = 20 and 60, heads 5 mm high on a sheet's top at z = 0."""
    wall = Placed("wall", sheet(hole(20, 30), hole(60, 30)), shifted(0, 0, -3))
    line = row([(20, 30), (60, 30)], "wall", head=(8.5, 5.0), driver=driver, **more)
    assembly = Assembly(name="b", placed=(wall, *others), lines=(line,))
    return driver_findings(assembly, scene(assembly))


def test_a_driver_reaches_what_stands_free() -> None:
    (found,) = reached()
    assert (found.verdict, found.check) == ("pass", "driver access")
    assert "all 2 screws" in found.message
    assert reached(thing("shelf", (0, 0, 55), (200, 60, 60)))[0].verdict == "pass"  # 5 of head and 50 of driver
    assert reached(thing("post", (24.3, 0, 6), (55.7, 60, 60)))[0].verdict == "pass"  # beside both heads
    assert "all 0 screws" in reached(thing("shelf", (0, 0, 20), (200, 60, 25)), driver=0)[0].message


def test_what_stands_over_a_head_is_told_with_how_many_and_where() -> None:
    (found,) = reached(thing("shelf", (0, 0, 54), (200, 60, 60)))
    assert (found.verdict, found.value, found.where, found.margin) == ("fail", 2, ("row", "shelf"), -1)
    assert found.limit == 0
    assert found.at == pytest.approx((20, 30, 0))
    assert "2 screws of 'row' can't be reached: 'shelf' stands over them" in found.message
    (found,) = reached(thing("post", (56, 0, 6), (200, 60, 60)))
    assert (found.value, found.at) == (1, pytest.approx((60, 30, 0)))


def test_what_is_fitted_later_is_not_in_the_way() -> None:
    over = (0, 0, 20), (200, 60, 25)
    assert reached(thing("lid", *over, stage=2), stage=1)[0].verdict == "pass"
    assert reached(thing("lid", *over, stage=1), stage=1)[0].verdict == "fail"


@pytest.mark.parametrize(("recess", "verdict"), [(9.0, "pass"), (8.5, "pass"), (8.0, "fail")])
def test_a_head_sits_in_its_recess(recess: float, verdict: str) -> None:
    layers = Layer("cover", "clearance", 5.5, recess=recess), Layer("wall", "tapped", 4.2)
    cover = thing("cover", (0, 0, 0), (200, 60, 30))
    assert reached(cover, layers=layers)[0].verdict == verdict


def test_overlaps_are_told_with_their_depth_and_middle() -> None:
    a, b, c = (
        thing("a", (0, 0, 0), (10, 10, 10)),
        thing("b", (9, 2, 4), (30, 8, 20)),
        thing("c", (10, 0, 0), (12, 2, 3)),
    )
    apart = Assembly(name="b", placed=(a, c))
    (found,) = overlap_findings(apart, scene(apart))
    assert (found.verdict, found.check) == ("pass", "overlap")
    assert "none of 2 pieces" in found.message
    both = Assembly(name="b", placed=(b, c, a))
    (found,) = overlap_findings(both, scene(both))
    assert (found.verdict, found.where, found.unit, found.limit) == ("fail", ("a", "b"), "mm", 0)
    assert found.value == pytest.approx(1)
    assert found.at == pytest.approx((9.5, 5, 7))
    assert "'a' and 'b' overlap by 1.00 mm" in found.message
    assert found.margin == -1


def test_what_comes_near_a_block() -> None:
    stand = Assembly(name="b", placed=(thing("a", (0, 0, 0), (10, 10, 10)), thing("b", (20, 0, 0), (30, 10, 10))))
    view = scene(stand)
    probe = Block(np.array([12.0, 2, 2]), np.array([15.0, 4, 4]))
    assert view.near(probe) == []
    assert view.near(probe, 1.9) == []
    assert view.near(probe, 2.1) == [0]
    assert view.near(probe, 5.1) == [0, 1]
    far = Block(np.array([5.0, 12, 2]), np.array([25.0, 14, 4]))
    assert view.near(far) == []  # beside both in y though within them in x
    assert math.isclose(view.high[1][0], 30)
