"""The shell's joints by hand: what the feet of each end do comes through corners and floor angles.

Statics; a leg held straight at both ends, M = F c / 2 (beam tables); a wall in shear, fy / √3 (von Mises); screws and
bonds have tests of their own. The demo's box has angles 25 x 25 x 3 of 6060-T66 (160 MPa), screws on their gauge line,
14 mm from the heel; corner angles 354.25 mm, end floor angles 231.5 mm, long ones 738 mm long.
"""

import math

import pytest

from baywright.strength.shell import shell

from .conftest import bench, box, known

LONG, END = "corner, leg on the long wall: ", "corner, leg on the end wall: "


@pytest.fixture(scope="module")
def ends():
    """Four feet at the end walls, at ±406.25 and ±85.75 mm, 1 mm up; those of the service end slotted."""
    return box()


@pytest.fixture(scope="module")
def longs():
    """Four feet along the long walls, at -251 and 293.75 mm along and ±173.25 across, 5 mm up."""
    return box(start="crash-20g")


def under(design, force):
    got = known(shell(bench(design, force)))
    return {what: one for (_, what), one in got.items()}


def test_corners_when_thrown_across(ends):
    """Half of the force at each end, the more where the mass is; it pulls a leg off one corner and shears the other."""
    body = ends.mass_properties
    force, x = 100 * body.mass, float(body.centroid[0])
    spread = 4 * 406.25**2 + 2 * 85.75**2
    across = force / 2 - 2 * force * x * 406.25 / spread  # the blind end's, at -406.25; the mass lies towards it
    got = under(ends, (0.0, 100.0, 0.0))
    bond, screws = got[LONG + "bond alone"], got[LONG + "screws alone"]
    v = bond.working.values
    assert v["N"] == v["N_c"] == pytest.approx(across / 2)
    assert v["V"] == pytest.approx(0, abs=1e-6)
    assert (v["b"], v["l"], v["t_1"], v["t_2"]) == (354.25, 25, 3, 3)
    assert v["A"] == pytest.approx(bench(ends).statics.bond_area("bond wall right / corner angle blind right"))
    assert 0.8 * 354.25 * 25 < v["A"] < 354.25 * 25
    v = screws.working.values
    assert (v["n"], v["N"], v["V"]) == pytest.approx((6, across / 2 / 6, 0), abs=1e-6)
    assert (v["e_1_1"], v["e_1_2"], v["t_1"], v["t_2"]) == (14, 11, 3, 3)
    # The leg on the end wall is sheared along it; nothing pulls at it.
    v = got[END + "bond alone"].working.values
    assert v["V"] == pytest.approx(across / 2)
    assert "N" not in v
    v = got[END + "screws alone"].working.values
    assert (v["n"], v["V"], v["N"]) == pytest.approx((5, across / 2 / 5, 0))
    leg = got["leg in bending"]
    assert leg.demand == pytest.approx(6 * across / 2 * (14 - 1.5) / 2 / (354.25 * 3**2))
    assert leg.resistance == pytest.approx(160 / 1.1)
    for what, plate in ((LONG, "wall right"), (END, "wall blind")):
        for means in ("bond", "screws"):
            one = got[f"{what}{means} alone"]
            assert one.where == ("corner angle blind right", plate)
            assert (one.alone, one.joint) == (means, what.removesuffix(": "))
            assert one.member == "corner joints"
            assert one.at == pytest.approx((-370, 142, 354.25 / 2))
    assert (leg.piece, leg.at) == ("corner angle blind right", pytest.approx((-370, 142, 354.25 / 2)))


def test_corners_when_thrown_up(ends):
    body = ends.mass_properties
    # Half of the box to each end, by the lever of the mass; half of that to each corner.
    corner = 100 * body.mass / 2 * (0.5 - float(body.centroid[0]) / (2 * 406.25))
    got = under(ends, (0.0, 0.0, 100.0))
    v = got[LONG + "bond alone"].working.values
    assert (v["V"], v["N"]) == pytest.approx((corner, 0), abs=1e-6)
    v = got[END + "screws alone"].working.values
    assert v["V"] == pytest.approx(corner / 5)


def test_the_worse_end_of_each_joint(ends):
    """Thrown to the service end that one is pressed; only the blind end's round holes hold lengthwise."""
    body = ends.mass_properties
    force = 100 * body.mass
    x, y, high = (float(c) for c in body.centroid - (0, 0, 1))
    corner = (force * high / (2 * 406.25) + 40 * body.mass * (0.5 + x / (2 * 406.25))) / 2
    got = under(ends, (100.0, 0.0, -40.0))
    corners = got[LONG + "bond alone"]
    assert corners.where[0] == "corner angle service right"
    assert corners.working.values["V"] == pytest.approx(corner)
    assert corners.at[0] == pytest.approx(370)
    floor = got["floor to end angle: bond alone"]
    assert floor.where == ("floor angle blind", "floor")
    across = abs(force * y * 406.25 * 2 / (4 * 406.25**2 + 2 * 85.75**2))
    assert floor.working.values["V"] == pytest.approx(math.hypot(force, across))


def test_the_floor_gives_the_level_forces_to_the_end_angles(ends):
    got = under(ends, (-100.0, 0.0, 0.0))
    force = 100 * ends.mass_properties.mass
    for means, count in (("bond", 1), ("screws", 4)):
        one = got[f"floor to end angle: {means} alone"]
        v = one.working.values
        assert v["V"] == pytest.approx(force / count, rel=1e-6)
        assert one.at == pytest.approx((-355.75, 0, 0), abs=1e-6)
        assert (one.member, one.joint, one.alone) == ("floor joints", "floor to end angle", means)
    v = got["floor to end angle: bond alone"].working.values
    assert (v["t_1"], v["t_2"], v["l"]) == (3, 4, 25)
    assert "N" not in v
    assert v["A"] == pytest.approx(bench(ends).statics.bond_area("bond floor / floor angle blind"))
    v = got["floor to end angle: screws alone"].working.values
    assert (v["n"], v["N"], v["e_1_1"], v["e_1_2"], v["t_1"], v["t_2"]) == (4, 0, 14, 11, 4, 3)


def test_the_floor_hangs_on_the_long_angles(ends):
    """Its own sheet and liner only, where modules stand on ledges: half to each side."""
    mass = bench(ends).statics.mass_of("floor", "liner floor")
    got = under(ends, (30.0, 40.0, -100.0))
    v = got["floor to long angles: bond alone"].working.values
    assert (v["V"], v["N"], v["b"]) == pytest.approx((25 * mass, 50 * mass, 738))
    v = got["floor to long angles: screws alone"].working.values
    assert (v["n"], v["V"], v["N"]) == pytest.approx((13, 25 * mass / 13, 50 * mass / 13))
    assert got["floor to long angles: bond alone"].where == ("floor angle right", "floor")
    # Thrown up it is pressed on.
    assert under(ends, (0.0, 0.0, 100.0))["floor to long angles: bond alone"].use == 0
    # On rods the modules hang on it too.
    rods = box(carry="tie rods")
    v = known(shell(bench(rods, (0.0, 0.0, -100.0))))["floor joints", "floor to long angles: bond alone"].working.values
    assert v["m"] > 3 * bench(rods).statics.module_mass
    assert v["N"] > 50 * v["m"]


def test_stacks_on_rods_tip_the_floor():
    """Three modules' mass 165 mm over the bars: across onto one long angle, 284 mm apart; along onto an end of both."""
    rods = box(carry="tie rods")
    stack = 3 * bench(rods).statics.module_mass

    def pull(force, design=rods):
        v = known(shell(bench(design, force)))["floor joints", "floor to long angles: bond alone"].working.values
        return v["N"], v["m"]

    got, mass = pull((0.0, 100.0, 0.0))
    assert mass > stack
    assert got == pytest.approx(100 * stack * 165 / 284)
    # Even over half of the length it would be M / 2 each side; growing to the end of 738 mm it is 6 times that over L.
    got, _ = pull((100.0, 0.0, 0.0))
    assert got == pytest.approx(100 * stack * 165 / 2 * 6 / 738)
    # Thrown down, the mass is not over the floor's middle: the bars stand at -317.75 and 226.25, the mass 4 mm off.
    got, mass = pull((0.0, 0.0, -50.0))
    assert got == pytest.approx(25 * mass + 50 * stack * (45.75 + 4) * 3 / 738)
    # Pressed on by more than it is tipped.
    assert pull((0.0, 1.0, 100.0))[0] == 0
    low = box(carry="tie rods", count=1)
    assert pull((0.0, 100.0, 0.0), low)[0] == pytest.approx(100 * stack / 3 * 52 / 284)
    four = box(carry="tie rods", count=12, rows=2, columns=2)
    wide, long = four.layout.inside[1], four.assembly.by_mark["floor angle right"].piece.length
    assert pull((0.0, 100.0, 0.0), four)[0] == pytest.approx(4 * 100 * stack * 165 / wide)
    assert pull((100.0, 0.0, 0.0), four)[0] == pytest.approx(4 * 100 * stack * 165 * 3 / long)


def test_an_end_wall_in_shear(ends):
    """Where the fittings' holes take most of its width: two glands side by side of the demo's three."""
    got = under(ends, (0.0, 100.0, 0.0))
    one = got["shear in its plane, holes taken out"]
    v = one.working.values
    assert one.demand == pytest.approx(v["R_y"] * -1 / (284 * 3 * (1 - v["k_h"])))
    assert v["k_h"] > 0.1
    assert one.resistance == pytest.approx(130 / 1.1 / math.sqrt(3))
    assert one.use == pytest.approx(one.demand / one.resistance)
    assert abs(v["R_y"]) == pytest.approx(2 * got[LONG + "bond alone"].working.values["N_c"])
    assert (one.member, one.piece, one.unit) == ("end walls", "wall service", "MPa")
    bare = box(fittings=[])
    one = known(shell(bench(bare, (0.0, 100.0, 0.0))))["end walls", "shear in its plane, holes taken out"]
    assert one.demand == pytest.approx(abs(one.working.values["R_y"]) / (284 * 3))


def test_feet_along_the_long_walls(longs):
    """Each corner has its own foot; what is thrown across goes by floor and angles to the feet."""
    body = longs.mass_properties
    x, z = float(body.centroid[0]), float(body.centroid[2])
    middle = (293.75 - 251) / 2
    got = under(longs, (0.0, 100.0, -10.0))
    tilt = 100 * body.mass * (z - 5) / (4 * 173.25)
    rest = 10 * body.mass * (0.25 - (x - middle) / (2 * 544.75))  # on a foot at the blind end, where the mass is
    v = got[LONG + "bond alone"].working.values
    assert v["V"] == pytest.approx(tilt + rest, rel=1e-3)
    spread = 4 * (544.75 / 2) ** 2 + 2 * 173.25**2
    turn = 100 * body.mass * (x - middle) * 544.75 / 2 / spread
    across = 50 * body.mass - 2 * turn
    assert v["N"] == pytest.approx(across / 2, rel=1e-3)
    v = got["floor to end angle: screws alone"].working.values
    assert v["V"] == pytest.approx(across / 4, rel=1e-3)
    side = got["floor to long angle at the feet: bond alone"]
    assert side.working.values["V"] == pytest.approx(50 * body.mass, rel=1e-3)
    assert side.where == ("floor angle right", "floor")
    assert "N" not in got["floor to end angle: bond alone"].working.values
    # The other way it is the left side's foot that is pressed.
    v = under(longs, (0.0, -100.0, -10.0))[LONG + "bond alone"].working.values
    assert v["V"] == pytest.approx(tilt + rest, rel=1e-3)
    # Thrown along, the end angles have nothing to bring; the feet of one side push against those of the other.
    got = under(longs, (100.0, 0.0, 0.0))
    assert got["floor to end angle: bond alone"].working.values["V"] < 1


def test_without_feet_only_the_floor_hangs():
    got = known(shell(bench(box(feet=False), (30.0, 40.0, -100.0))))
    assert {what for _, what in got} == {"floor to long angles: bond alone", "floor to long angles: screws alone"}
