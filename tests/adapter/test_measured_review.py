"""What is said about a set of readings: every finding made to fail once, by readings files that a bench could write."""

from collections.abc import Callable, Iterable
from itertools import combinations
from math import dist
from pathlib import Path

import pytest

from baywright.adapter.file import pattern_of, pattern_of_readings, read_measured
from baywright.adapter.measured_picture import save_picture
from baywright.adapter.measured_review import ReadingsReview, review_readings
from baywright.finding import Finding
from baywright.job.catalogue import load_catalogue
from baywright.job.messages import BadInput

# An uneven ring of six: no turn and no mirror image of it is itself. Walked 1, 3, 5 it runs clockwise.
HOLES = {
    "1": (0.0, 150.0),
    "2": (135.0, 70.0),
    "3": (120.0, -80.0),
    "4": (10.0, -140.0),
    "5": (-125.0, -75.0),
    "6": (-130.0, 90.0),
}
HEAD = """name = "bench"
source = "invented"
walking = "1, 3, 5 {walk} seen from the motor"
uncertainty = {sigma}
{more}
[holes]
thread = "M10"
{holes}
"""
Places = dict[str, tuple[float, float]]


def centres(places: Places, pairs: Iterable[tuple[str, str]] | None = None, by: float = 0.0) -> str:
    """Return the table of centre distances between holes, and from each to the shaft; `by` mm added, taken in turn."""
    both = {**places, "shaft": (0.0, 0.0)}
    wanted = list(combinations(both, 2)) if pairs is None else pairs
    rows = (f'"{a}-{b}" = {dist(both[a], both[b]) + by * (-1) ** k:.3f}' for k, (a, b) in enumerate(wanted))
    return "[centre]\n" + "\n".join(rows) + "\n"


@pytest.fixture(scope="module")
def shop():
    return load_catalogue()


@pytest.fixture
def reviewed(tmp_path: Path, shop) -> Callable[..., ReadingsReview]:
    """Return a function that writes a readings file and reviews it."""

    def review(body: str, sigma: str = "0.05", more: str = "", holes: str = "", walk: str = "clockwise"):
        path = tmp_path / "bench.toml"
        path.write_text(HEAD.format(sigma=sigma, more=more, holes=holes, walk=walk) + body)
        return review_readings(*read_measured(path, shop), shop)

    return review


def of(result: ReadingsReview, check: str) -> Finding:
    (one,) = [f for f in result.findings if f.check == check]
    return one


def test_good_readings_pass_every_check_that_can_fail(reviewed) -> None:
    result = reviewed(centres(HOLES))
    assert {f.verdict for f in result.findings} == {"pass"}
    assert of(result, "readings agree").verdict == "pass"


def test_as_many_readings_as_needed_check_nothing(reviewed) -> None:
    """Three holes and the shaft have 2 x 4 - 3 = 5 distances to be known by: six leave one spare, five none."""
    three = {n: HOLES[n] for n in ("1", "3", "5")}
    six = reviewed(centres(three))
    assert of(six, "readings agree").message.startswith("6 readings, 1 more than needed")
    pairs = [("1", "3"), ("3", "5"), ("5", "1"), ("1", "shaft"), ("3", "shaft")]
    five = of(reviewed(centres(three, pairs)), "readings agree")
    assert (five.verdict, five.value, five.limit) == ("fail", 0.0, 1.0)
    assert "take more readings" in five.message


def test_readings_worse_than_stated_are_to_be_looked_at(reviewed) -> None:
    """Every distance 0.2 mm off, up and down in turn, where 0.05 mm was stated."""
    found = of(reviewed(centres(HOLES, by=0.2)), "readings agree")
    assert found.verdict == "look"
    assert found.value > found.limit
    assert "worse than their uncertainty says" in found.message


def test_a_hole_read_from_two_others_may_be_on_either_side(reviewed) -> None:
    pairs = [p for p in combinations([*HOLES, "shaft"], 2) if "6" not in p] + [("6", "1"), ("6", "2")]
    found = of(reviewed(centres(HOLES, pairs)), "one place only")
    assert found.verdict == "fail"
    assert found.where == ("6",)
    assert "also measure" in found.message
    assert "6" in found.message.split("also measure")[1]


def test_without_the_shaft_no_plate_can_be_made(reviewed) -> None:
    found = of(reviewed(centres(HOLES, combinations(HOLES, 2))), "datum")
    assert found.verdict == "fail"
    assert "at least three holes to the shaft" in found.message


def test_one_hole_under_two_names(reviewed) -> None:
    """Holes 2 and 7 a tenth of a millimetre apart: nobody measures between them."""
    both = {**HOLES, "7": (135.0, 70.1)}
    pairs = [p for p in combinations([*both, "shaft"], 2) if p != ("2", "7")]
    found = of(reviewed(centres(both, pairs)), "holes apart")
    assert (found.verdict, set(found.where)) == ("fail", {"2", "7"})


def test_a_dowel_that_is_not_known_well_enough_is_reamed_in_place(reviewed) -> None:
    named = 'dowels = ["2"]\ndowel_diameter = "10 mm"'
    good = of(reviewed(centres(HOLES), holes=named), "how well held")
    assert (good.verdict, good.where, good.limit) == ("pass", ("2",), 0.15)
    poor = of(reviewed(centres(HOLES), sigma="0.3", holes=named), "how well held")
    assert poor.verdict == "look"
    # The same readings, each six times as uncertain: the zone is six times as wide.
    assert poor.value == pytest.approx(6 * good.value, rel=1e-6)
    assert "ream in place" in poor.message


def test_a_mistake_that_would_not_show(reviewed) -> None:
    """Hole 6 is held by two readings and no third: whatever they say is believed."""
    pairs = [p for p in combinations([*HOLES, "shaft"], 2) if "6" not in p] + [("6", "1"), ("6", "5")]
    found = reviewed(centres(HOLES, pairs))
    bare = of(found, "unchecked readings")
    assert bare.verdict == "look"
    assert bare.value == 2.0
    assert "centre 6-1" in bare.message
    assert "centre 6-5" in bare.message
    hidden = of(found, "hidden mistake")
    assert hidden.verdict == "look"
    assert hidden.where == ("6",)
    assert hidden.value is None
    assert "any distance" in hidden.message
    # Checked, but only just: a spread of half a millimetre hides more than the limit of half a millimetre.
    rough = of(reviewed(centres(HOLES), sigma="0.5"), "hidden mistake")
    assert rough.value > rough.limit == 0.5
    assert f"{rough.value:.2f} mm unnoticed" in rough.message


def test_bolts_that_may_not_pass(reviewed) -> None:
    """M10: fine holes are 10.5 mm, medium 11, coarse 12 (ISO 273). A plate cut true passes; a careless one does not."""
    fixed = 'located = "fixed"\ncut = {cut}'
    good = of(reviewed(centres(HOLES), more=fixed.format(cut="0.05")), "bolts pass")
    assert good.verdict == "pass"
    # Room 0.5 mm in medium, 1.0 in coarse: Rayleigh of 0.3 mm, P = 1 - exp(-r²/2s²) a hole, of six 0.17 and 0.98.
    none = of(reviewed(centres(HOLES), more=fixed.format(cut="0.3")), "bolts pass")
    assert none.verdict == "fail"
    assert none.value == pytest.approx((1 - 2.71828 ** (-1.0 / (2 * 0.3**2))) ** 6, abs=0.01)
    assert "none reaches 99 %" in none.message
    coarse = reviewed(centres(HOLES), more=fixed.format(cut="0.2"))
    assert coarse.wide_enough == "coarse"
    assert of(coarse, "bolts pass").verdict == "look"


def test_dowels_alone_need_no_clearance(reviewed) -> None:
    names = ", ".join(f'"{n}"' for n in HOLES)
    result = reviewed(centres(HOLES), holes=f'dowels = [{names}]\ndowel_diameter = "10 mm"')
    assert not [f for f in result.findings if f.check == "bolts pass"]
    assert result.chances == {}


def test_a_known_pattern_is_named_and_its_mirror_image_told(reviewed, shop) -> None:
    """The demo bell's own holes, read as they are, from the wrong side, and with the shaft 2 mm off."""
    known = pattern_of(shop, "demo-bell-8").seen("motor")
    bell = {h.name: (h.x, h.y) for h in known.bolts}
    first, third, fifth = (bell[n] for n in ("1", "3", "5"))
    turn = (third[0] - first[0]) * (fifth[1] - third[1]) - (third[1] - first[1]) * (fifth[0] - third[0])
    assert turn < 0  # walked 1, 3, 5 they do run clockwise
    right = of(reviewed(centres(bell)), "known pattern")
    assert right.verdict == "pass"
    assert known.name in right.message
    # Distances have no hand: the walk alone decides it, and with a wrong one only the mirror image fits.
    wrong = of(reviewed(centres(bell), walk="counter-clockwise"), "known pattern")
    assert wrong.verdict == "look"
    assert "mirror image; check `walking`" in wrong.message
    off = of(reviewed(centres({n: (x + 2.0, y) for n, (x, y) in bell.items()})), "known pattern")
    assert off.verdict == "look"
    assert "its centre lies 2.00 mm from the shaft" in off.message


EDGES = """[edges.left]
centre = {{ "1" = {left1}, "4" = [{left4}, "{left4} mm ± 0.2 mm"] }}
near = {{ "2" = {left2} }}
[edges.bottom]
centre = {{ "1" = {low1}, "3" = {low3} }}
far = {{ "5" = {low5} }}
"""
POINTS = """[points.photo]
uncertainty = "0.1 mm"
centre = {{ "1" = [{x1}, {y1}], "2" = [{x2}, {y2}], "3" = [{x3}, {y3}] }}
rim = {{ "4" = [[{x4}, {n4}], [{x4}, {s4}], [{e4}, {y4}]] }}
"""


def test_edges_and_scanned_points_give_the_same_holes(reviewed, tmp_path: Path, shop) -> None:
    """The left edge is 200 mm left of the shaft, the lower one 220 mm below; holes 10 mm; the scan shifted by 7, -9."""
    edges = EDGES.format(left1=200, left4=210, left2=330, low1=370, low3=140, low5=150)
    x, y = ({n: p[i] + (7.0, -9.0)[i] for n, p in HOLES.items()} for i in (0, 1))
    points = POINTS.format(
        **{f"x{n}": v for n, v in x.items()},
        **{f"y{n}": v for n, v in y.items()},
        n4=y["4"] + 5,
        s4=y["4"] - 5,
        e4=x["4"] + 5,
    )
    body = centres(HOLES) + '[diameter]\n"2" = 10\n"4" = [10, 10]\n"5" = 10\n' + edges + points
    result = reviewed(body, more='square_edges = true\nlevel = "6 to 2"')
    assert {f.verdict for f in result.findings} == {"pass"}
    measured = result.measured
    labels = {row.label for row in measured.rows}
    assert {"left edge to 2 near side", "bottom edge to 5 far side", "left edge to 4 centre (2)"} <= labels
    assert {"photo point 3", "photo rim of 4, point 3", "diameter 4 (2)"} <= labels
    own = next(r for r in measured.solution.layout.readings if r.label == "left edge to 4 centre (2)")
    assert own.sigma == 0.2  # a reading's own uncertainty counts over the file's
    (x6, y6), (x2, y2) = (measured.positions[measured.names.index(n)] for n in ("6", "2"))
    assert y2 == pytest.approx(y6, abs=1e-6)
    assert x2 - x6 == pytest.approx(dist(HOLES["2"], HOLES["6"]), abs=1e-3)
    assert save_picture(measured, tmp_path / "all.svg").stat().st_size > 5000
    assert pattern_of_readings(result.file, measured, shop).holes[1].diameter == pytest.approx(10.0, abs=1e-3)


def test_what_a_measured_hole_is_made_to_be(reviewed, shop) -> None:
    """A dowel takes its stated size, else its gauged one; a tapped hole its thread's, a through one what was gauged."""
    gauged = centres(HOLES) + '[diameter]\n"1" = 8.6\n"2" = 11.98\n"3" = 12.01\n'
    pilot = "[pilot]\nmale = false\ndiameter = 130\nheight = 4\nlimits = [130.0, 130.04]\n"
    found = reviewed(gauged + pilot, holes='kind = "tapped"\ndowels = ["2"]\ndowel_diameter = "12 mm"')
    made = {h.name: h for h in pattern_of_readings(found.file, found.measured, shop).holes}
    assert (made["2"].kind, made["2"].thread, made["2"].diameter) == ("dowel", "", 12.0)
    assert (made["1"].kind, made["1"].thread, made["1"].diameter) == ("tapped", "M10", 10.0)
    whole = pattern_of_readings(found.file, found.measured, shop)
    assert whole.pilot is not None
    assert (whole.pilot.male, whole.pilot.limits) == (False, (130.0, 130.04))
    assert "as measured" not in found.chances  # what a tapped hole measures is no room for a bolt
    plain = reviewed(gauged, holes='dowels = ["2"]')
    made = {h.name: h for h in pattern_of_readings(plain.file, plain.measured, shop).holes}
    assert made["2"].diameter == pytest.approx(11.98, abs=0.01)
    assert made["1"].diameter == pytest.approx(8.6, abs=0.01)
    assert made["4"].diameter == 11.0  # not gauged: medium clearance, ISO 273


@pytest.mark.parametrize(
    ("body", "more", "said"),
    [
        ("", 'level = "shaft to 2"', "level: no reading reaches the shaft"),
        ('[edges.front]\ncentre = { "1" = 10 }', "square_edges = true", "square edges are called left, right, top"),
        ("", 'level = "2 to 2"', "two places whose line runs level"),
        ("", "level = 2", "two places whose line runs level"),
        ("", "walking = 3", "is no TOML here"),
        ("", 'units = "in"', 'units: expected a table like length = "in"'),
        ("", 'units = { mass = "kg" }', 'units: expected a table like length = "in"'),
        ("", 'units = { length = "kg" }', "units.length: "),
        ("[pilot]\nmale = true\ndiameter = 9\nlimits = [9.1, 9.0]", "", "limits are [least, most]"),
    ],
)
def test_a_slip_is_said_with_its_key(reviewed, body: str, more: str, said: str) -> None:
    known = {"1": HOLES["1"], "2": HOLES["2"], "3": HOLES["3"], "5": HOLES["5"]}
    with pytest.raises(BadInput) as bad:
        reviewed(centres(known, combinations(known, 2)) + body, more=more)
    assert said in str(bad.value)
    assert "bench.toml" in str(bad.value)


@pytest.mark.parametrize("table", ["edges.left", "points.photo"])
def test_a_hole_that_is_not_listed_is_found_in_every_table(reviewed, table: str) -> None:
    reading = {"edges.left": 'near = { "9" = 10 }', "points.photo": 'uncertainty = 0.1\ncentre = { "9" = [1, 2] }'}
    listed = f"names = {[*HOLES]}".replace("'", '"')
    with pytest.raises(BadInput, match="unknown hole '9'") as bad:
        reviewed(centres(HOLES) + f"[{table}]\n{reading[table]}\n", holes=listed)
    assert table in str(bad.value)
