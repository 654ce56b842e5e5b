"""Which pieces are the same part, and where they then stand."""

import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright.piece.assembly import Assembly, Placed
from baywright.piece.bought import Bought
from baywright.piece.extrusion import Extrusion, Stock
from baywright.piece.numbering import distinct, letters, slug
from baywright.piece.plate import Plate
from baywright.piece.solid import Block, Hole, Round
from baywright.shape.loop import as_circle, circle, mapped, rectangle, slot
from baywright.shape.pose import Pose, shifted, turned

STOCK = {
    shape: Stock(
        name=shape,
        shape=shape,
        width=30.0,
        height=30.0 if shape in ("angle", "round tube", "rod") else 20.0,
        wall=3.0,
        material="6060-T66",
        density=2700.0,
        stock_length=6000.0,
    )
    for shape in ("angle", "channel", "bar", "tube")
}


def plate(holes, role="wall", wide=200.0, tall=100.0, use="clearance"):
    cut = tuple(Hole(face="top", loop=loop, depth=3.0, use=use) for loop in holes)
    return Plate(
        role=role, outline=rectangle(0, 0, wide, tall), holes=cut, thickness=3.0, material="alu", density=2700.0
    )


def assembly(*pieces, poses=None):
    poses = poses or [shifted(10.0 * i) for i in range(len(pieces))]
    return Assembly(
        name="front",
        placed=tuple(Placed(f"p{i}", piece, at) for i, (piece, at) in enumerate(zip(pieces, poses, strict=True))),
    )


def hole_points(piece, at):
    """Return the holes' centres in the assembly, sorted: what a screw would meet."""
    faces = piece.faces()
    found = []
    for hole in piece.holes:
        x, y = hole.loop[:, :2].mean(axis=0)
        found.append(at.after(faces[hole.face].pose)(np.array([x, y, -hole.depth / 2])))
    return np.array(sorted(np.round(found, 6).tolist()))


def same_places(one, other):
    """Tell whether two lists of points are one set."""
    gaps = np.linalg.norm(one[:, None] - other[None], axis=2)
    return len(one) == len(other) and gaps.min(axis=0).max() < 1e-4 and gaps.min(axis=1).max() < 1e-4


def test_the_same_plate_turned_is_one_part_and_its_pose_is_corrected():
    first = plate([circle(20, 30, 5), circle(150, 80, 8)])
    upside_down = plate([circle(180, 70, 5), circle(50, 20, 8)])
    parts = distinct(assembly(first, upside_down))
    assert [(p.number, p.quantity) for p in parts] == [("front-wall-A", 2)]
    mark, at = parts[0].occurrences[1]
    assert mark == "p1"
    assert same_places(hole_points(first, at), hole_points(upside_down, shifted(10.0)))


def test_a_mirror_image_is_the_same_part_turned_over():
    first = plate([circle(20, 30, 5), slot(150, 80, 6, 20, 30)])
    other = plate([mapped(h.loop, np.diag([-1.0, 1.0]), (200.0, 0.0)) for h in first.holes])
    parts = distinct(assembly(first, other))
    assert len(parts) == 1
    assert parts[0].occurrences[1][1].turn[2, 2] == pytest.approx(-1)


def test_a_symmetric_plate_keeps_its_seen_side():
    first = plate([circle(20, 50, 5), circle(180, 50, 5)])
    parts = distinct(assembly(first, first))
    assert parts[0].occurrences[1][1].turn[2, 2] == pytest.approx(1)


@pytest.mark.parametrize(
    "other",
    [
        plate([circle(20, 30, 5.001)]),
        plate([circle(20, 30.001, 5)]),
        plate([circle(20, 30, 5)], use="tapped"),
        plate([circle(20, 30, 5)], wide=200.001),
        plate([circle(20, 30, 5), circle(60, 30, 5)]),
        plate([slot(20, 30, 5, 6)]),
    ],
    ids=["wider hole", "hole elsewhere", "tapped", "longer", "one more hole", "slot"],
)
def test_what_differs_is_another_part(other):
    parts = distinct(assembly(plate([circle(20, 30, 5)]), other))
    assert [p.number for p in parts] == ["front-wall-A", "front-wall-B"]


def test_a_handed_angle_drilled_in_one_leg_swaps_its_legs():
    stock = STOCK["angle"]
    one = Extrusion(
        role="corner angle",
        stock=stock,
        length=100.0,
        holes=(Hole(face="leg x", loop=circle(20, 12, 4.2), depth=3.0, use="tapped"),),
    )
    # leg x: y of the face runs from x = width to 0; leg y runs from the heel: 12 from the toe is 18 from the heel.
    other = Extrusion(
        role="corner angle",
        stock=stock,
        length=100.0,
        holes=(Hole(face="leg y", loop=circle(80, 18, 4.2), depth=3.0, use="tapped"),),
    )
    parts = distinct(assembly(one, other))
    assert len(parts) == 1
    assert same_places(hole_points(one, parts[0].occurrences[1][1]), hole_points(other, shifted(10.0)))


def test_numbers_do_not_move_when_another_role_is_added():
    wall, lid = plate([circle(20, 30, 5)]), plate([], role="lid")
    alone = {p.number for p in distinct(assembly(wall, plate([])))}
    assert alone < {p.number for p in distinct(assembly(lid, wall, plate([])))}


def test_bought_things_are_grouped_by_article():
    def screw(length):
        return Bought(role="screw", name=f"M5x{length}", mass=0.001 * length)

    parts = distinct(assembly(screw(10), screw(16), screw(10)))
    assert [(p.number, p.quantity, p.made) for p in parts] == [
        ("front-screw-A", 2, False),
        ("front-screw-B", 1, False),
    ]


def test_bought_things_of_other_bodies_are_other_articles():
    def thing(body, mass=0.1):
        return Bought(role="clamp", name="c", mass=mass, bodies_=(body,))

    def block(high):
        return Block(np.zeros(3), np.array([10.0, 20, high]))

    def rod(length, axis=(0.0, 0, 1)):
        return Round(np.zeros(3), np.array(axis), length, 8.0)

    kinds = [thing(block(30)), thing(block(31)), thing(rod(30)), thing(rod(31)), thing(rod(30, (1.0, 0, 0)))]
    again = [thing(block(30)), thing(rod(30)), thing(block(30 + 1e-7), mass=0.1 + 1e-12)]
    found = distinct(assembly(*kinds, *again, thing(block(30), mass=0.11)))
    assert [[mark for mark, _ in part.occurrences] for part in found] == [
        ["p0", "p5", "p7"],
        ["p1"],
        ["p2", "p6"],
        ["p3"],
        ["p4"],
        ["p8"],
    ]
    assert not any(part.made for part in found)


def test_slug_and_letters():
    assert slug("Long wall / café 2") == "Long-wall-cafe-2"
    assert slug("  ../..") == "part"
    assert [letters(i) for i in (0, 25, 26, 27, 701, 702)] == ["A", "Z", "AA", "AB", "ZZ", "AAA"]


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_any_turn_of_any_blank_is_found_again(data):
    shape = data.draw(st.sampled_from(["plate", *STOCK]))
    if shape == "plate":
        blank = plate([])
    else:
        blank = Extrusion(role="rail", stock=STOCK[shape], length=160.0)
    faces = blank.faces()
    names = sorted(name for name in faces if not name.startswith("end"))
    holes = []
    for _ in range(data.draw(st.integers(1, 6))):
        name = data.draw(st.sampled_from(names))
        face = faces[name]
        u, v = data.draw(st.floats(0.1, 0.9)), data.draw(st.floats(0.2, 0.8))
        loop = circle(u * face.width, v * face.height, data.draw(st.sampled_from([2.0, 3.5])))
        holes.append(Hole(face=name, loop=loop, depth=face.depth, use="clearance"))
    first = blank.with_holes(tuple(holes))
    turn = data.draw(st.sampled_from(blank.turns()))
    # Drill a second blank at the places where the turned first one has its holes.
    again = []
    for hole in holes:
        x, y, d = as_circle(hole.loop)
        middle = turn.after(faces[hole.face].pose)(np.array([x, y, -hole.depth / 2]))
        for name in names:
            back = faces[name].pose.inverse()(middle)
            if abs(back[2] + faces[name].depth / 2) < 1e-9 and -1e-9 <= back[1] <= faces[name].height + 1e-9:
                again.append(Hole(face=name, loop=circle(back[0], back[1], d), depth=hole.depth, use="clearance"))
                break
    second = blank.with_holes(tuple(again))
    spun = turned("z", data.draw(st.floats(0, 360)), (5.0, 6.0, 7.0))
    parts = distinct(assembly(first, second, poses=[shifted(), spun]))
    assert len(parts) == 1
    at = parts[0].occurrences[1][1]
    assert np.linalg.det(at.turn) == pytest.approx(1)
    assert same_places(hole_points(first, at), hole_points(second, spun))


def test_four_hundred_holes_are_quick():
    walls = []
    for k in range(10):
        loops = [circle(10 + 4 * i, 10 + 0.1 * k, 3.3) for i in range(40)]
        walls.append(plate(loops))
    bolts = Bought(role="screw", name="M5x10", mass=0.003)
    many = assembly(*walls, *[bolts] * 400, poses=[Pose(np.eye(3), np.zeros(3))] * 410)
    distinct(many)
    start = time.perf_counter()
    parts = distinct(many)
    took = time.perf_counter() - start
    assert len(parts) == 11
    print(f"numbering 400 holes and 400 screws: {took * 1e3:.0f} ms")
