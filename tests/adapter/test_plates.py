"""Whole adapters: what must hold of every one, over all published flanges and over random faces."""

import itertools
import math
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from baywright.adapter.build import MOTOR
from baywright.adapter.design import AdapterDesign
from baywright.adapter.file import pattern_of
from baywright.adapter.generate import generate
from baywright.adapter.rules import check_adapter
from baywright.finding import CannotBuild
from baywright.job.adapters import AdapterAsk, GearboxRow, MotorRow
from baywright.job.catalogue import Catalogue, RawRow, load_catalogue
from baywright.job.patterns import PatternRow
from baywright.piece.plate import Plate
from baywright.shape.loop import as_circle, polygon

FLANGES = [n for n in load_catalogue().names("pattern") if not n.startswith("demo")]
# Flanges through which the larger demo motor's 35 mm shaft does not pass, or that want thicker plates than its stock.
SMALL = ("iso", "iec-ff55", "iec-ft55")


def with_rows(**rows: MotorRow | GearboxRow) -> Catalogue:
    """The shop's catalogue with further rows, as a job's own parts would add them."""
    catalogue = load_catalogue()
    for row in rows.values():
        kind = "motor" if isinstance(row, MotorRow) else "gearbox"
        catalogue.raw[kind][row.name] = RawRow(Path("test.toml"), {}, {}, {})
        catalogue._checked[kind, row.name] = row
    return catalogue


def gearbox(pattern: str, **more) -> GearboxRow:
    row = {"name": "g", "source": "test", "pattern": pattern, "flange": 12, "run_out": 0.03, **more}
    return GearboxRow.model_validate(row)


def made(pattern: str, motor: str = "demo-motor-90", row: dict | None = None, **ask) -> AdapterDesign:
    catalogue = with_rows(g=gearbox(pattern, **(row or {})))
    asked = AdapterAsk.model_validate({"motor": motor, "gearbox": "g", "lugs": False, **ask})
    return generate("test", asked, catalogue)


def for_flange(name: str) -> AdapterDesign:
    pattern = pattern_of(load_catalogue(), name)
    housing = name.startswith("sae-j617")
    small = name.startswith(SMALL)
    row = {"counterpart": housing}
    if housing:
        row["opening"] = pattern.pilot.diameter - 30
    # A pump's two M24 bolts want more thread than the metric stock's thickest plate has.
    return made(name, "demo-motor-small" if small else "demo-motor-90", row, thickness=20 if housing else 60)


@pytest.fixture(scope="module", params=[n for n in FLANGES if n not in ("sae-j744-165-2",)])
def flange(request) -> AdapterDesign:
    return for_flange(request.param)


def test_an_adapter_to_every_published_flange_has_no_failure(flange: AdapterDesign) -> None:
    failed = [f.message for f in check_adapter(flange) if f.verdict == "fail"]
    assert not failed


def test_screws_pass_coaxial_holes_that_suit_them(flange: AdapterDesign) -> None:
    check_screws(flange)


def test_openings_stay_apart_and_in_the_plate(flange: AdapterDesign) -> None:
    check_metal(flange)


def check_screws(design: AdapterDesign) -> None:
    """Every bolt finds in each of its plates a round hole on its axis of the size that its layer says."""
    for line in design.assembly.lines:
        for layer in line.layers:
            if layer.mark == MOTOR:
                continue
            item = design.assembly.by_mark[layer.mark]
            back = item.pose.inverse()
            rings = [as_circle(h.loop) for h in item.piece.holes]
            for point in line.points:
                x, y, _ = back(point)
                near = [r for r in rings if r is not None and math.hypot(r[0] - x, r[1] - y) < 1e-6]
                assert any(abs(r[2] - layer.diameter) < 1e-6 for r in near), (line.name, layer)
            if layer.use == "clearance":
                assert layer.diameter > design.given.thread(line.size).diameter
            if layer.use == "tapped":
                assert layer.diameter < design.given.thread(line.size).diameter


def check_metal(design: AdapterDesign) -> None:
    """Bolts' holes of a plate, counterbores with them, do not run into each other, against shapely."""
    for at in design.plates:
        plate = design.piece(at.mark)
        edge = shapely.Polygon(polygon(plate.outline, 1e-3))
        assert edge.is_valid
        by_axis: dict[tuple, float] = {}
        for hole in plate.holes:
            ring = as_circle(hole.loop)
            if ring is not None and math.hypot(ring[0], ring[1]) > 1e-6:
                key = (round(ring[0], 4), round(ring[1], 4))
                by_axis[key] = max(by_axis.get(key, 0.0), ring[2])
        for (x, y), d in by_axis.items():
            assert edge.contains(shapely.Point(x, y).buffer(d / 2)), (at.mark, x, y)
        for ((x, y), d), ((u, v), e) in itertools.combinations(by_axis.items(), 2):
            assert math.hypot(x - u, y - v) - (d + e) / 2 >= 1.9, (at.mark, (x, y), (u, v))


def test_both_faces_holes_lie_where_the_parts_have_theirs() -> None:
    """A hole at the upper right of the bell as seen from the gearbox is at the upper left as seen from the motor."""
    design = made("demo-bell-8", row={"opening": 236}, thickness=20)
    bell = pattern_of(load_catalogue(), "demo-bell-8")  # seen from the motor
    (at,) = design.plates
    assert at.seen_from == "motor"
    plate = design.piece(at.mark)
    assert plate.seen_from == "the motor"
    rings = [c[:2] for h in plate.holes if (c := as_circle(h.loop)) is not None and h.line.startswith("gearbox")]
    # The plate's own x-y, which its cut file shows, is what somebody at the motor sees.
    assert np.array(sorted(rings)) == pytest.approx(np.array(sorted((h.x, h.y) for h in bell.holes)))
    # In the assembly z runs to the gearbox and y up: x is then what somebody at the gearbox has on the right.
    there = [p for line in design.assembly.lines if line.name == "gearbox dowels" for p in line.points]
    dowel = bell.seen("gearbox").dowels
    seen = np.array(sorted((p[0], p[1]) for p in there))
    assert seen == pytest.approx(np.array(sorted((h.x, h.y) for h in dowel)))
    assert all(item.pose.turn[2] @ [0, 0, 1] in (1, -1) for item in design.assembly.placed)
    assert all(np.linalg.det(item.pose.turn) == pytest.approx(1) for item in design.assembly.placed)


def test_a_pattern_given_from_the_other_side_makes_the_same_plate(tmp_path: Path) -> None:
    rows = {"motor": {}, "gearbox": {}}
    for side in rows:
        sign = 1 if side == "motor" else -1
        holes = [[sign * x, y] for x, y in [(150, 30), (60, 140), (-90, 120), (-150, -20), (-40, -150), (100, -110)]]
        text = f'[own-bell]\nsource = "test"\nseen_from = "{side}"\nholes = [\n'
        text += "".join(
            f'{{ name = "{k}", at = {at}, kind = "through", thread = "M10" }},\n' for k, at in enumerate(holes, 1)
        )
        folder = tmp_path / side / "parts" / "patterns"
        folder.mkdir(parents=True)
        (folder / "own.toml").write_text(text + "]\n")
        catalogue = load_catalogue(tmp_path / side / "parts")
        row = gearbox("own-bell", opening=220)
        catalogue.raw["gearbox"]["g"] = RawRow(Path("test.toml"), {}, {}, {})
        catalogue._checked["gearbox", "g"] = row
        ask = AdapterAsk(motor="demo-motor-90", gearbox="g", thickness=20.0, lugs=False)
        plate = generate("x", ask, catalogue).piece("adapter plate")
        rows[side] = sorted(c for h in plate.holes if (c := as_circle(h.loop)) is not None)
    assert np.array(rows["motor"]) == pytest.approx(np.array(rows["gearbox"]))


def test_a_plate_machined_from_the_gearbox_is_drawn_as_seen_from_there() -> None:
    design = for_flange("sae-j617-3")
    (at,) = design.plates
    plate = design.piece(at.mark)
    assert at.seen_from == "gearbox"
    assert plate.seen_from == "the gearbox"
    (recess,) = [h for h in plate.holes if h.depth < plate.thickness - 1e-6]
    assert "recess 409.58 (409.580 to 409.700)" in recess.callout
    assert recess.depth == pytest.approx(5.5)
    # Its cut file's right is the motor side's left: the motor's holes stand mirrored in it.
    motor = {(round(-h.hole.x, 6), round(h.hole.y, 6)) for h in design.motor_holes}
    bolts = [as_circle(h.loop) for h in plate.holes if h.line == "motor bolts"]
    rings = {(round(c[0], 6), round(c[1], 6)) for c in bolts}
    assert rings == motor


def test_a_rabbet_outside_its_bolts_is_a_recess_with_the_bolts_in_its_floor() -> None:
    catalogue = load_catalogue()
    changed = {"name": "nema", "pattern": "nema-182tc", "diameter": 260.0}
    row = catalogue.row("motor", "demo-motor-90").model_copy(update=changed)
    catalogue = with_rows(m=row, g=gearbox("demo-bell-8", opening=236))
    ask = AdapterAsk(motor="nema", gearbox="g", thickness=30.0, lugs=False)
    design = generate("x", ask, catalogue)
    (at,) = design.plates
    plate = design.piece(at.mark)
    assert at.seen_from == "motor"
    recess = next(h for h in plate.holes if "recess 215.9" in h.callout)
    assert recess.depth == pytest.approx(6.35 + 0.5)
    assert all(one.near == pytest.approx(6.85) and one.hole.radius < 215.9 / 2 for one in design.motor_holes)
    line = next(n for n in design.assembly.lines if n.name == "motor bolts")
    # Under the head 30, the motor's face at the rabbet's top 6.35: what stands in its thread is what is left.
    thread = design.given.thread("1/2-13")
    inside = line.length - thread.row.washer.thickness - (30 - 6.85)
    assert inside >= 1.5 * thread.diameter - 1e-6


def test_heads_under_the_bell_are_sunk_and_bear_on_a_floor() -> None:
    design = made("iec-ff265", thickness=40)
    sunk = [one for one in design.motor_holes if one.sink]
    assert len(sunk) == 6
    plate = design.piece("adapter plate")
    assert design.plates[0].seen_from == "gearbox"
    bores = [h for h in plate.holes if "counterbore 18 x 10.6" in h.callout]
    assert len(bores) == 6
    line = next(n for n in design.assembly.lines if n.name == "motor bolts")
    assert line.points[0, 2] == pytest.approx(40 - max(one.far + one.sink for one in sunk))
    assert line.head[0] == 16


def test_three_plates_join_outside_everything_and_go_together_one_way() -> None:
    design = made("iec-ft130", thickness=60)
    assert [at.mark for at in design.plates] == ["motor plate", "ring", "gearbox plate"]
    assert design.why
    assert sum(design.depth.layers) == pytest.approx(60)
    ring = design.piece("ring")
    inner = next(as_circle(h.loop)[2] / 2 for h in ring.holes if h.line == "ring")
    for one in (*design.motor_holes, *design.gearbox_holes):
        assert one.hole.radius + max(one.reach, one.head_wide / 2 if one.head else 0) <= inner - 1.9
    heads = sum(max(o.head_high for o in holes) for holes in (design.motor_holes, design.gearbox_holes))
    assert design.depth.layers[1] > heads
    dowels = next(n for n in design.assembly.lines if n.name == "joining dowels").points[:, :2]
    # Not opposite each other: turned by half, the dowels do not meet their holes.
    assert np.linalg.norm(dowels[0] + dowels[1]) > 20
    screws = next(n for n in design.assembly.lines if n.name == "joining screws")
    # Their heads bear on the side where less covers the plate: the flange of 160 mm is narrower than the motor.
    assert screws.direction[2] == -1
    assert np.linalg.norm(screws.points[0, :2]) - screws.head[0] / 2 > 160 / 2


def test_the_cradle_is_the_same_on_every_adapter_of_a_motor() -> None:
    catalogue = load_catalogue()
    seen = []
    for name, row in (
        ("demo-bell-8", {"opening": 236}),
        ("sae-j617-3", {"counterpart": True, "opening": 380}),
        ("sae-j617-5", {"counterpart": True, "opening": 290}),
        ("iec-ff165", {}),
    ):
        for clocking in (0.0, 60.0):
            design = made(name, row=row, thickness=60 if name.startswith("iec") else 20, lugs=True, clocking=clocking)
            line = next(n for n in design.assembly.lines if n.name == "cradle")
            seen.append(line.points.tolist())
            piece = design.assembly.by_mark[line.layers[0].mark].piece
            assert sum(h.line == "cradle" for h in piece.holes) == 4
    cradle = catalogue.row("motor", "demo-motor-90").cradle
    assert seen[0] == [[-x, y, 0.0] for x, y in cradle.holes]
    assert all(s == seen[0] for s in seen)


@pytest.mark.parametrize(("holes", "said"), [([[-150, 0], [150, 0]], "lies under motor, bell or ring")])
def test_a_cradle_under_the_bell_is_refused(holes: list, said: str) -> None:
    row = load_catalogue().row("motor", "demo-motor-90")
    row = row.model_copy(update={"name": "m", "cradle": row.cradle.model_copy(update={"holes": holes})})
    catalogue = with_rows(m=row, g=gearbox("sae-j617-3", counterpart=True, opening=380))
    with pytest.raises(CannotBuild, match=said) as no:
        generate("x", AdapterAsk(motor="m", gearbox="g", thickness=20.0), catalogue)
    assert no.value.key == "lugs"


def test_mass_is_area_times_thickness_less_what_is_machined_away() -> None:
    """Against shapely: outline less openings, recess and counterbores by depth."""
    for design in (for_flange("sae-j617-4"), made("iec-ff265", thickness=40)):
        for at in design.plates:
            plate = design.piece(at.mark)
            assert isinstance(plate, Plate)
            cuts = sorted({h.depth for h in plate.holes}, reverse=True)
            volume, last, gone = 0.0, plate.thickness, shapely.Polygon()
            full = shapely.Polygon(polygon(plate.outline, 1e-4))
            levels = [*cuts, 0.0]
            for deep, shallow in itertools.pairwise(levels):
                here = [shapely.Polygon(polygon(h.loop, 1e-4)) for h in plate.holes if h.depth >= deep - 1e-9]
                gone = shapely.union_all(here)
                volume += full.difference(gone).area * (deep - shallow)
                last = shallow
            assert last == 0
            assert plate.mass_properties().mass == pytest.approx(volume * 2700e-9, rel=1e-5)


def test_the_same_request_gives_the_same_plate() -> None:
    a, b = (made("demo-bell-8", row={"opening": 236}, thickness=20, windows=14) for _ in range(2))
    one, other = a.piece("adapter plate"), b.piece("adapter plate")
    assert one.outline.tobytes() == other.outline.tobytes()
    assert [h.loop.tobytes() for h in one.holes] == [h.loop.tobytes() for h in other.holes]


@pytest.mark.parametrize(
    ("ask", "row", "key", "said"),
    [
        ({"thickness": 8}, {"opening": 236}, "thickness", "8 mm is too thin"),
        ({"thickness": 20, "least_web": 80}, {"opening": 236}, "least_web", "the best clocking: 80 mm are asked"),
        ({"thickness": 20, "bore": 30}, {"opening": 236}, "bore", "too narrow"),
        ({"thickness": 20, "bore": 160}, {"opening": 236}, "bore", "cuts into the bolt holes"),
        ({"thickness": 20, "bore": 140}, {"opening": 236}, "bore", "nothing would centre it"),
        ({"thickness": 20, "pilot_fit": "m6"}, {}, "pilot_fit", "is no hole class"),
        ({"thickness": 20, "dowel_pin": "H7"}, {}, "dowel_pin", "is no shaft class"),
        ({"thickness": 20, "bolt_class": "9.9"}, {"opening": 236}, "bolt_class", "come in class 8.8, 10.9, 12.9"),
        (
            {"thickness": 20, "wanted": [{"feature": "pump", "clocks": [0, 9]}]},
            {"opening": 236},
            "wanted",
            "no feature",
        ),
        (
            {"thickness": 20, "clocking": 90, "keep_out": [{"name": "steering", "clocks": [80, 100]}]},
            {"opening": 236},
            "clocking",
            "at 90 deg terminals stands in steering",
        ),
        (
            {"thickness": 20, "keep_out": [{"name": "tunnel", "clocks": [0, 359.9]}]},
            {"opening": 236},
            "keep_out",
            "at every clocking",
        ),
    ],
)
def test_what_cannot_be_made_is_refused_in_one_sentence(ask: dict, row: dict, key: str, said: str) -> None:
    with pytest.raises(CannotBuild) as no:
        made("demo-bell-8", row=row, plates="one", **ask)
    assert no.value.key == key
    assert said in no.value.sentence
    assert "\n" not in no.value.sentence


faces = st.lists(
    st.tuples(st.floats(60, 260), st.floats(0, 360), st.sampled_from(["through", "tapped", "dowel"])),
    min_size=3,
    max_size=14,
)


@given(
    faces,
    st.sampled_from(["M6", "M8", "M10", "M12", "3/8-16"]),
    st.sampled_from([0.0, 150.0, 300.0]),
    st.sampled_from([15.0, 25.0, 60.0]),
    st.sampled_from(["auto", "one", "three"]),
    st.booleans(),
)
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_random_faces_make_a_sound_adapter_or_one_sentence(
    holes: list, thread: str, opening: float, thickness: float, plates: str, windows: bool
) -> None:
    row = PatternRow.model_validate(
        {
            "name": "random",
            "source": "test",
            "holes": [
                {
                    "name": str(k),
                    "at": [r * math.sin(math.radians(a)), r * math.cos(math.radians(a))],
                    "kind": kind,
                    **({"diameter": 10} if kind == "dowel" else {"thread": thread}),
                }
                for k, (r, a, kind) in enumerate(holes)
            ],
        }
    )
    catalogue = with_rows(g=gearbox("random", opening=opening))
    catalogue.raw["pattern"]["random"] = RawRow(Path("test.toml"), {}, {}, {})
    catalogue._checked["pattern", "random"] = row
    ask = {"motor": "demo-motor-90", "gearbox": "g", "thickness": thickness, "plates": plates, "lugs": False}
    asked = AdapterAsk.model_validate({**ask, **({"windows": 12} if windows else {})})
    try:
        design = generate("random", asked, catalogue)
    except CannotBuild as no:
        told = no.sentence
    else:
        told = ""
    if told:
        assert "\n" not in told
        return
    check_screws(design)
    findings = check_adapter(design)
    if not any(f.check == "least metal" and f.verdict == "fail" for f in findings):
        check_metal(design)
    assert design.metal.mass > 0
    assert sum(design.depth.layers) == pytest.approx(thickness)
