"""Joints: a screw line puts coaxial holes through every piece, a bond lies between two faces, and all of it adds up."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from baywright.piece.assembly import Assembly, Placed, drilled, faying, screw_pose, total
from baywright.piece.bought import Bought
from baywright.piece.extrusion import Extrusion, Stock
from baywright.piece.joint import Along, Layer, ScrewLine
from baywright.piece.plate import Plate
from baywright.piece.solid import Block, Round
from baywright.shape.loop import arcs, as_circle, bounds, circle, rectangle
from baywright.shape.mass import combine
from baywright.shape.pose import Pose, pose, shifted, turned

X, _, Z = np.eye(3)
GAP, NEAR, TAP = 0.25, 5.5, 4.2
QUARTERS = Rotation.create_group("O").as_matrix().round()
NUMBERS = st.floats(-800, 800)


@st.composite
def quarter_poses(draw):
    """Return one of the 24 ways a square thing can stand, anywhere."""
    return Pose(QUARTERS[draw(st.integers(0, 23))], np.array([draw(NUMBERS) for _ in range(3)]))


def stock(shape, width=40.0, height=30.0, wall=3.0):
    return Stock(
        name=shape,
        shape=shape,
        width=width,
        height=height,
        wall=wall,
        material="6060-T66",
        density=2700.0,
        stock_length=6000.0,
    )


def sheet(outline, thickness=3.0, role="wall"):
    return Plate(role=role, outline=outline, thickness=thickness, material="5754-H22", density=2660.0)


def screw(length=16.0):
    head = Round(np.zeros(3), Z, 5.0, 8.5)
    shank = Round(np.zeros(3), -Z, length, 5.0)
    return Bought(role="screw", name=f"M5x{length:g}", mass=0.004, bodies_=(head, shank), group="screws")


WASHER = Bought(role="washer", name="5", mass=0.0005, bodies_=(Round(np.zeros(3), Z, 1.0, 10.0),))
NUT = Bought(role="nut", name="M5", mass=0.0012, bodies_=(Round(np.zeros(3), -Z, 4.0, 8.0),))


def line(points, direction, layers, **more):
    return ScrewLine(
        name="row",
        joint="wall to angle",
        screw=screw(),
        size="M5",
        length=16.0,
        points=np.asarray(points, dtype=float),
        direction=np.asarray(direction, dtype=float),
        layers=tuple(layers),
        **more,
    )


FACES = [
    (shape, name)
    for shape in ("angle", "channel", "tube", "bar")
    for name in Extrusion(role="x", stock=stock(shape), length=100).faces()
]


@st.composite
def joints(draw):
    """Return an undrilled assembly of a sheet over any face of any section, turned any square way, and its parts.

    Built the other way round from how holes are found: the screw comes first, both pieces are put under it.
    """
    there = draw(quarter_poses())
    shape, name = draw(st.sampled_from(FACES))
    piece = Extrusion(role="under", stock=stock(shape), length=draw(st.floats(60, 400)))
    face = piece.faces()[name]
    # The head's frame: z out towards the head, the face at -(sheet + gap).
    back = 3.0 + GAP
    spun = turned("z", 90.0 * draw(st.integers(0, 3)))
    under = Placed("under", piece, there.after(shifted(0, 0, -back)).after(spun).after(face.pose.inverse()))
    # The sheet's seen side may look at the head or away from it.
    over = there.after(shifted(0, 0, -3.0)) if draw(st.booleans()) else there.after(turned("x", 180))
    wall = Placed("wall", sheet(rectangle(-1000, -1000, 1000, 1000)), over)
    places = draw(
        st.lists(st.tuples(st.floats(0.02, 0.98), st.floats(0.02, 0.98)), min_size=1, max_size=5, unique=True)
    )
    flat = np.array([(u * face.width, v * face.height, 0.0) for u, v in places])
    points = under.pose.after(face.pose)(flat) + there.direction((0, 0, back))
    return Assembly(name="test", placed=(wall, under)), points, there.direction((0, 0, -1)), name, face


def axis_of(item, hole):
    """Return a hole's centre on its face and the way into the metal, in the assembly."""
    stands = item.pose.after(item.piece.faces()[hole.face].pose)
    x0, y0, x1, y1 = bounds(hole.loop)
    return stands(((x0 + x1) / 2, (y0 + y1) / 2, 0)), stands.direction((0, 0, -1))


def on_axis(item, holes, points, direction):
    """Check that the holes lie one each on the screws' axes, in order."""
    assert len(holes) == len(points)
    for hole, point in zip(holes, points, strict=True):
        centre, into = axis_of(item, hole)
        assert np.abs(np.cross(into, direction)).max() < 1e-12
        assert np.linalg.norm(np.cross(centre - point, direction)) < 1e-8


@given(joints())
def test_holes_are_coaxial_through_sheet_and_section(joint):
    bare, points, direction, name, face = joint
    layers = (Layer("wall", "clearance", NEAR), Layer("under", "tapped", TAP, "M5 through"))
    made = drilled(Assembly(name="t", placed=bare.placed, lines=(line(points, direction, layers),)))
    wall, under = made.by_mark["wall"], made.by_mark["under"]
    on_axis(wall, wall.piece.holes, points, direction)
    on_axis(under, under.piece.holes, points, direction)
    for hole in wall.piece.holes:
        assert as_circle(hole.loop)[2] == pytest.approx(NEAR)
        assert (hole.face, hole.depth, hole.use, hole.line) == ("top", 3.0, "clearance", "row")
    for hole in under.piece.holes:
        assert as_circle(hole.loop)[2] == pytest.approx(TAP)
        assert (hole.face, hole.depth, hole.use, hole.callout) == (name, face.depth, "tapped", "M5 through")
    # The bare assembly is left as it was, and nothing moved.
    assert not bare.by_mark["wall"].piece.holes
    assert wall.pose is bare.by_mark["wall"].pose


@given(joints(), st.floats(1.0, 2.9))
def test_blind_holes_start_at_the_side_of_the_head(joint, depth):
    bare, points, direction, name, _ = joint
    layers = (Layer("wall", "clearance", NEAR), Layer("under", "tapped", TAP, depth=depth))
    made = drilled(Assembly(name="t", placed=bare.placed, lines=(line(points, direction, layers),)))
    for hole in made.by_mark["under"].piece.holes:
        assert (hole.face, hole.depth) == (name, depth)
        _, into = axis_of(made.by_mark["under"], hole)
        assert into == pytest.approx(direction)


@given(joints(), st.floats(6, 20), st.booleans())
def test_slots_lie_along_what_is_asked_in_space(joint, extra, across):
    bare, points, direction, _, _ = joint
    stands = bare.by_mark["under"].pose
    ways = [stands.turn[:, i] for i in range(3) if abs(stands.turn[:, i] @ direction) < 0.5]
    along = ways[across]
    wall = Layer("wall", "slot", NEAR, slot=NEAR + extra, slot_along=tuple(along))
    made = drilled(
        Assembly(name="t", placed=bare.placed, lines=(line(points, direction, (wall, Layer("under", "tapped", TAP))),))
    )
    item = made.by_mark["wall"]
    on_axis(item, item.piece.holes, points, direction)
    for hole in item.piece.holes:
        (ax, ay, ar, *_), (bx, by, br, *_) = arcs(hole.loop)
        assert (ar, br) == pytest.approx((NEAR / 2, NEAR / 2))
        ends = item.pose.after(item.piece.faces()["top"].pose).direction((bx - ax, by - ay, 0))
        assert np.linalg.norm(ends) == pytest.approx(extra)
        assert abs(ends @ along) == pytest.approx(extra)


@given(quarter_poses(), st.booleans())
def test_a_bar_between_two_sheets_is_drilled_from_the_side_that_is_struck(there, below):
    # A bar has two broad faces; two sheets hold it between them, each by its own screws.
    bar = Placed("bar", Extrusion(role="bar", stock=stock("bar", 40, 12), length=200), there)
    # Each sheet's own x runs along the bar, its metal upward (y) from where it stands.
    outline = rectangle(0, 0, 200, 40)
    top = Placed("top", sheet(outline), there.after(pose(Z, X, (0, 12 + GAP, 0))))
    low = Placed("low", sheet(outline), there.after(pose(Z, X, (0, -GAP - 3, 0))))
    y = -GAP - 3 if below else 12 + GAP + 3
    points = there([(20, y, 50), (10, y, 150)])
    direction = there.direction((0, 1 if below else -1, 0))
    near = "low" if below else "top"
    asked = line(points, direction, (Layer(near, "clearance", NEAR), Layer("bar", "tapped", TAP, depth=9.0)))
    made = drilled(Assembly(name="t", placed=(bar, top, low), lines=(asked,)))
    assert {hole.face for hole in made.by_mark["bar"].piece.holes} == {"low" if below else "high"}
    on_axis(made.by_mark["bar"], made.by_mark["bar"].piece.holes, points, direction)
    on_axis(made.by_mark[near], made.by_mark[near].piece.holes, points, direction)
    assert not made.by_mark["top" if below else "low"].piece.holes


@given(quarter_poses(), st.booleans())
def test_a_bar_is_tapped_in_the_end_that_is_struck(there, far):
    bar = Placed("bar", Extrusion(role="bar", stock=stock("bar", 40, 20), length=200), there)
    at = 200 + GAP + 3 if far else -GAP - 3
    cover = Placed("cover", sheet(rectangle(0, 0, 40, 20)), there.after(shifted(0, 0, 200 + GAP if far else -GAP - 3)))
    points, direction = there([(10, 10, at), (30, 8, at)]), there.direction((0, 0, -1 if far else 1))
    layers = (Layer("cover", "clearance", NEAR), Layer("bar", "tapped", TAP, depth=15.0))
    made = drilled(Assembly(name="t", placed=(bar, cover), lines=(line(points, direction, layers),)))
    item = made.by_mark["bar"]
    assert {hole.face for hole in item.piece.holes} == {"end 1" if far else "end 0"}
    on_axis(item, item.piece.holes, points, direction)
    assert item.piece.volume() == pytest.approx(40 * 20 * 200 - 2 * 15 * math.pi * TAP**2 / 4)


# --- what a generator must not ask for ------------------------------------------------------------------------------


def wall_and_angle(points, direction=(0, 0, -1), layers=None):
    """Return a wall flat on z = 0…3 and an angle whose leg x lies under it, 0.25 mm apart."""
    flipped = turned("x", -90, (0, 0, -GAP))  # leg x, whose outside is -y, now looks up
    angle = Placed("angle", Extrusion(role="angle", stock=stock("angle"), length=200), flipped)
    wall = Placed("wall", sheet(rectangle(0, 0, 40, 200)), shifted())
    layers = layers or (Layer("wall", "clearance", NEAR), Layer("angle", "tapped", TAP))
    return Assembly(name="t", placed=(wall, angle), lines=(line(points, direction, layers),))


def test_the_small_joint_itself_is_sound():
    made = drilled(wall_and_angle([(20, 50, 3)]))
    assert len(made.by_mark["angle"].piece.holes) == 1


@pytest.mark.parametrize(
    ("points", "direction"),
    [
        ([(20, 250, 3)], (0, 0, -1)),  # past both ends
        ([(20, 50, 3), (-5, 50, 3)], (0, 0, -1)),  # the second beside the sheet
        ([(20, 50, 3)], (0, math.sin(0.01), -math.cos(0.01))),  # half a degree askew
    ],
)
def test_an_axis_that_meets_no_face_squarely_is_refused(points, direction):
    with pytest.raises(ValueError, match=r"row: the axis at .* meets no face of 'wall' squarely"):
        drilled(wall_and_angle(points, direction))


def test_a_hole_outside_an_outline_with_a_corner_cut_off_is_refused():
    made = wall_and_angle([(38, 198, 3)])
    cut = sheet(np.array([(0, 0, 0), (40, 0, 0), (40, 180, 0), (20, 200, 0), (0, 200, 0)], dtype=float))
    clipped = Assembly(name="t", placed=(Placed("wall", cut, shifted()), made.placed[1]), lines=made.lines)
    with pytest.raises(ValueError, match="meets no face of 'wall'"):
        drilled(clipped)


def test_a_blind_hole_from_the_side_without_a_face_is_refused():
    # An angle's inside is no face of its own: a hole that stops half way can't start there.
    layers = (Layer("angle", "tapped", TAP, depth=2.0),)
    drilled(wall_and_angle([(20, 50, 3)], layers=layers))
    with pytest.raises(ValueError, match="meets no face of 'angle'"):
        drilled(wall_and_angle([(20, 50, -10)], (0, 0, 1), layers))


def test_a_piece_that_is_not_there_is_refused():
    with pytest.raises(ValueError, match="row: no piece 'lid' in t"):
        drilled(wall_and_angle([(20, 50, 3)], layers=(Layer("lid", "clearance", NEAR),)))


def test_round_stock_can_not_be_drilled():
    tube = Placed("tube", Extrusion(role="spacer", stock=stock("round tube", 20, 20, 2), length=60), shifted())
    with pytest.raises(ValueError, match="meets no face of 'tube'"):
        drilled(
            Assembly(
                name="t", placed=(tube,), lines=(line([(0, 0, 60)], (0, 0, -1), (Layer("tube", "clearance", 5),)),)
            )
        )


def test_a_bore_and_a_bought_piece_are_passed_and_not_drilled():
    tube = Placed("tube", Extrusion(role="spacer", stock=stock("round tube", 20, 20, 2), length=60), shifted())
    module = Placed("module", Bought(role="module", name="m", mass=10), shifted())
    asked = line([(0, 0, 60)], (0, 0, -1), (Layer("tube", "bore", 16.0), Layer("module", "bore", 9.0)))
    made = drilled(Assembly(name="t", placed=(tube, module), lines=(asked,)))
    assert made.by_mark["tube"] is tube
    assert made.by_mark["module"] is module


# --- bonds ----------------------------------------------------------------------------------------------------------


@st.composite
def aligned(draw):
    """Return two blocks a gap apart along an axis, one to either side, and the rectangle they share (low, high)."""
    axis, sign, gap = draw(st.integers(0, 2)), draw(st.sampled_from([-1, 1])), draw(st.floats(0.05, 3))
    sizes = st.floats(20, 200)
    low = np.array([draw(NUMBERS) for _ in range(3)])
    high = low + [draw(sizes) for _ in range(3)]
    other_size = np.array([draw(sizes) for _ in range(3)])
    # Start the second so that it overlaps the first by at least 5 mm across the axis.
    share = [draw(st.floats(0, 1)) for _ in range(3)]
    start = low - other_size + 5 + share * (high - low + other_size - 10)
    start[axis] = high[axis] + gap if sign > 0 else low[axis] - gap - other_size[axis]
    return (low, high), (start, start + other_size), axis, sign, gap


def slab(mark, low, high, way=0):
    """Return a plate that fills a block, its sheet's plane chosen by `way` (a cyclic swap of the axes)."""
    size = np.roll(high - low, -way)
    turn = np.roll(np.eye(3), way, axis=0)
    return Placed(mark, sheet(rectangle(0, 0, size[0], size[1]), size[2], mark), Pose(turn, low))


@given(aligned(), st.integers(0, 2), st.integers(0, 2))
def test_faying_finds_the_shared_rectangle(pair, way, other_way):
    (low, high), (start, end), axis, sign, gap = pair
    first, second = slab("one", low, high, way), slab("two", start, end, other_way)
    assert first.blocks()[0].low == pytest.approx(low)
    assert first.blocks()[0].high == pytest.approx(high)
    bond = faying("b", first, second, gap, "epoxy", 1200.0)
    assert (bond.first, bond.second, bond.thickness) == ("one", "two", gap)
    # Its corners in space: on the first's face, over just what both cover.
    corners = bond.pose(np.column_stack([bond.region[:, :2], np.zeros(len(bond.region))]))
    wanted_low, wanted_high = np.maximum(low, start), np.minimum(high, end)
    wanted_low[axis] = wanted_high[axis] = high[axis] if sign > 0 else low[axis]
    assert corners.min(axis=0) == pytest.approx(wanted_low, abs=1e-9)
    assert corners.max(axis=0) == pytest.approx(wanted_high, abs=1e-9)
    # z runs from the first to the second, right-handed.
    assert bond.pose.direction((0, 0, 1)) == pytest.approx(sign * np.eye(3)[axis])
    assert np.linalg.det(bond.pose.turn) == pytest.approx(1)
    glued = Assembly(name="t", placed=(first, second), bonds=(bond,))
    across = np.delete(wanted_high - wanted_low, axis)
    assert glued.bond_area(bond) == pytest.approx(across.prod())
    centre = glued.bond_mass(bond).centroid
    assert centre[axis] == pytest.approx((wanted_low[axis] + (start[axis] if sign > 0 else end[axis])) / 2)


@given(aligned(), st.sampled_from([-0.01, 0.01]))
def test_faces_that_are_not_a_bond_line_apart_are_refused(pair, off):
    (low, high), (start, end), _, _, gap = pair
    with pytest.raises(ValueError, match="b: one and two have no faces"):
        faying("b", slab("one", low, high), slab("two", start, end), gap + off, "epoxy", 1200.0)


@given(aligned())
def test_faces_beside_each_other_are_refused(pair):
    (low, high), (start, end), axis, _, gap = pair
    aside = (axis + 1) % 3
    away = np.zeros(3)
    away[aside] = high[aside] - start[aside] - 0.5  # they still share half a millimetre: an edge, not a face
    with pytest.raises(ValueError, match="no faces"):
        faying("b", slab("one", low, high), slab("two", start + away, end + away), gap, "epoxy", 1200.0)


def test_an_angle_in_a_corner_is_bonded_by_its_whole_leg():
    wall = Placed("wall", sheet(rectangle(0, 0, 300, 200)), turned("x", 90))  # stands on y = -3…0
    angle = Placed("angle", Extrusion(role="angle", stock=stock("angle"), length=150), shifted(20, GAP, 10))
    bond = faying("b", wall, angle, GAP, "epoxy", 1200.0)
    assert Assembly(name="t", placed=(wall, angle), bonds=(bond,)).bond_area(bond) == pytest.approx(40 * 150)


def test_bond_area_is_less_the_holes_of_its_own_screws():
    bare = wall_and_angle([(20, 50, 3), (30, 90, 3), (15, 150, 3)])
    bond = faying("b", bare.by_mark["wall"], bare.by_mark["angle"], GAP, "epoxy", 1200.0)
    made = drilled(Assembly(name="t", placed=bare.placed, bonds=(bond,), lines=bare.lines))
    area = 40 * 200 - 3 * math.pi * NEAR**2 / 4  # the wider of the two holes
    assert made.bond_area(bond) == pytest.approx(area)
    assert made.bond_mass(bond).mass == pytest.approx(area * GAP * 1200e-9)
    assert made.adhesive_volume() == pytest.approx(area * GAP)
    # Without the screws, or with screws that join other pieces, the whole rectangle.
    assert Assembly(name="t", placed=bare.placed, bonds=(bond,)).bond_area(bond) == pytest.approx(40 * 200)
    others = line([(20, 50, 3)], (0, 0, -1), (Layer("wall", "clearance", NEAR), Layer("lid", "clearance", NEAR)))
    assert Assembly(name="t", placed=bare.placed, bonds=(bond,), lines=(others,)).bond_area(bond) == pytest.approx(8000)


# --- sums and fasteners ---------------------------------------------------------------------------------------------


@given(st.integers(0, 23), st.tuples(*[st.floats(-180, 180)] * 3), st.booleans())
def test_a_screw_points_its_tip_along_its_line(quarter, angles, square):
    turn = QUARTERS[quarter] if square else Rotation.from_euler("xyz", angles, degrees=True).as_matrix()
    direction = turn[:, 2]
    asked = line([(1, 2, 3), (40, -5, 60)], direction, (), along=(Along(WASHER, 0.0), Along(NUT, 12.0)))
    stands = screw_pose(asked)
    assert stands @ stands.T == pytest.approx(np.eye(3), abs=1e-12)
    assert np.linalg.det(stands) == pytest.approx(1)
    found = Assembly(name="t", placed=(), lines=(asked,)).fasteners()
    assert [p.mark for p in found] == ["row 1", "row 1 washer", "row 1 nut", "row 2", "row 2 washer", "row 2 nut"]
    for item, point in zip(found[::3], asked.points, strict=True):
        assert item.pose((0, 0, -16)) == pytest.approx(point + 16 * direction)  # the tip
        assert item.pose((0, 0, 5)) == pytest.approx(point - 5 * direction)  # the head's top
    for nut, point in zip(found[2::3], asked.points, strict=True):
        assert nut.pose((0, 0, 0)) == pytest.approx(point + 12 * direction)


def full(there):
    """Return a drilled and bonded joint with every kind of thing in it, seen from outside a pose."""
    bare = wall_and_angle([(20, 50, 3), (30, 90, 3), (15, 150, 3)])
    module = Placed(
        "module",
        Bought(role="module", name="m", mass=9.0, bodies_=(Block(np.zeros(3), np.full(3, 90.0)),)),
        shifted(0, 0, 30),
    )
    placed = tuple(Placed(p.mark, p.piece, there.after(p.pose), p.stage) for p in (*bare.placed, module))
    (old,) = bare.lines
    asked = line(
        there(old.points),
        there.direction(old.direction),
        old.layers,
        along=(Along(WASHER, 0.0), Along(NUT, 6.5)),
        stage=3,
    )
    bond = faying("glue", placed[0], placed[1], GAP, "epoxy", 1200.0)
    return drilled(Assembly(name="t", placed=placed, bonds=(bond,), lines=(asked,)))


@given(quarter_poses())
def test_the_ledger_adds_up_to_the_whole(there):
    made = full(there)
    ledger = made.ledger()
    marks = [mark for mark, _ in ledger]
    assert len(marks) == len(set(marks))
    assert {"wall", "angle", "module", "row", "row washer", "row nut", "glue"} == set(marks)
    masses = {mark: properties.mass for mark, properties in ledger}
    assert masses["row"] == pytest.approx(3 * 0.004)
    assert masses["row nut"] == pytest.approx(3 * 0.0012)
    assert masses["wall"] == pytest.approx((40 * 200 - 3 * math.pi * NEAR**2 / 4) * 3 * 2660e-9)
    assert masses["angle"] == pytest.approx(((40 + 27) * 3 * 200 - 3 * math.pi * TAP**2 / 4 * 3) * 2700e-9)
    assert made.mass_properties.mass == pytest.approx(sum(masses.values()))
    # One by one, every screw in its own place: the same centroid and inertia.
    things = [p.piece.mass_properties().moved(p.pose) for p in (*made.placed, *made.fasteners())]
    by_hand = combine([*things, made.bond_mass(made.bonds[0])])
    assert made.mass_properties.mass == pytest.approx(by_hand.mass)
    assert made.mass_properties.centroid == pytest.approx(by_hand.centroid)
    assert made.mass_properties.inertia == pytest.approx(by_hand.inertia, rel=1e-7, abs=1e-6)


@given(quarter_poses())
def test_a_joint_seen_from_elsewhere_is_the_same_joint(there):
    here, moved = full(shifted()).mass_properties, full(there).mass_properties
    assert moved.mass == pytest.approx(here.mass)
    assert moved.centroid == pytest.approx(there(here.centroid))
    assert moved.inertia == pytest.approx(here.moved(there).inertia, rel=1e-6, abs=1e-4)


def test_total_is_of_what_it_is_given():
    made = full(shifted())
    assert total(made.placed).mass == pytest.approx(sum(p.piece.mass_properties().mass for p in made.placed))
    assert total([]).mass == 0


def test_fasteners_keep_their_stage():
    made = full(shifted())
    assert {p.stage for p in made.fasteners()} == {3}
    assert {p.stage for p in made.placed} == {0}


def test_bounds_with_and_without_fasteners():
    made = full(shifted())
    bare = made.bounds(fasteners=False)
    assert bare.low == pytest.approx([0, 0, -GAP - 30])
    assert bare.high == pytest.approx([90, 200, 120])
    flat = Assembly(name="t", placed=made.placed[:2], lines=made.lines)
    assert flat.bounds(fasteners=False).high == pytest.approx([40, 200, 3])
    assert flat.bounds().high == pytest.approx([40, 200, 8])  # the heads stand 5 mm proud


def test_car_bolts_leave_holes_but_no_screws():
    made = wall_and_angle([(20, 50, 3)])
    (asked,) = made.lines
    bolts = ScrewLine(
        name="feet",
        joint="feet",
        screw=None,
        size="M8",
        length=0.0,
        points=asked.points,
        direction=asked.direction,
        layers=asked.layers,
    )
    made = drilled(Assembly(name="t", placed=made.placed, lines=(bolts,)))
    assert made.fasteners() == []
    assert as_circle(made.by_mark["wall"].piece.holes[0].loop) == pytest.approx((20, 50, NEAR))
    assert circle(20, 50, NEAR) == pytest.approx(made.by_mark["wall"].piece.holes[0].loop)
    assert made.mass_properties.mass == pytest.approx(total(made.placed).mass)
