"""Every rule about an adapter made to fail once, or to ask for a look: by a request, a row, or a spoilt design."""

import math
from dataclasses import replace
from pathlib import Path

import ezdxf
import pytest

from baywright.adapter.design import AdapterDesign
from baywright.adapter.generate import generate
from baywright.adapter.rules import check_adapter
from baywright.finding import CannotBuild, Finding
from baywright.job.adapters import AdapterAsk, GearboxRow, MotorRow
from baywright.job.catalogue import Catalogue, RawRow, load_catalogue
from baywright.job.patterns import PatternRow
from baywright.shape.loop import rectangle

ROWS = {"motor": MotorRow, "gearbox": GearboxRow, "pattern": PatternRow}


def with_row(catalogue: Catalogue, kind: str, base: str | None, name: str, **changed: object) -> Catalogue:
    """Put a further row in a catalogue: a row of the shop with some keys changed, or a new one."""
    row = {"source": "test"} if base is None else catalogue.raw[kind][base].data
    catalogue.raw[kind][name] = RawRow(Path(f"{name}.toml"), {}, {}, {})
    catalogue._checked[kind, name] = ROWS[kind].model_validate({**row, "name": name, **changed})
    return catalogue


def design(catalogue: Catalogue | None = None, gearbox: str = "demo-five-speed", **ask: object) -> AdapterDesign:
    asked = {"motor": "demo-motor-90", "gearbox": gearbox, "thickness": 20, "lugs": False, **ask}
    return generate("x", AdapterAsk.model_validate(asked), catalogue or load_catalogue())


def only(made: AdapterDesign, check: str) -> Finding:
    (one,) = [f for f in check_adapter(made) if f.check == check]
    return one


def test_a_thickness_that_is_not_sold() -> None:
    found = only(design(thickness=21), "stock thickness")
    assert (found.verdict, found.value) == ("look", 21.0)
    assert "face it from 25 mm" in found.message
    assert "order a thicker plate" in only(design(thickness=30, plates="one"), "stock thickness").message
    assert not [f for f in check_adapter(design(thickness=20)) if f.check == "stock thickness"]


def test_a_pocket_too_near_a_bolt_hole() -> None:
    """The bell's hole 4 stands at 133, -88, tapped M10 from an 8.5 mm drill: a 20 mm pocket 17.25 mm off leaves 3."""
    pocket = {"name": "sensor", "at": [133 - 17.25, -88], "diameter": 20}
    found = only(design(pockets=[pocket]), "least metal")
    assert found.verdict == "fail"
    assert found.value == pytest.approx(3.0, abs=0.01)
    assert found.limit == 5.0
    assert "move a pocket" in found.message
    assert only(design(pockets=[{**pocket, "at": [133 - 20, -88]}]), "least metal").verdict == "pass"


def test_an_outline_too_near_a_bolt(tmp_path: Path) -> None:
    """A square of 340 mm: hole 3 of the bell stands 158 from the shaft, 12 mm from its edge: 1.2 of M10's diameters.

    The generator refuses such a drawing; the rule looks at the finished plate by itself.
    """
    drawing = ezdxf.new()
    drawing.header["$INSUNITS"] = 4
    corners = [(-170, -170), (170, -170), (170, 170), (-170, 170)]
    drawing.modelspace().add_lwpolyline(corners, close=True, dxfattribs={"layer": "PLATE"})
    drawing.saveas(tmp_path / "plate.dxf")
    with pytest.raises(CannotBuild, match=r"too near to what stands at \(-155\.0, 8\.0\)") as no:
        design(plates="one", outline={"file": str(tmp_path / "plate.dxf"), "layer": "PLATE"})
    assert no.value.key == "outline"
    made = design()
    assert only(made, "edge distance").verdict == "pass"
    placed = tuple(
        replace(item, piece=replace(item.piece, outline=rectangle(-170, -170, 170, 170)))
        if item.mark == "adapter plate"
        else item
        for item in made.assembly.placed
    )
    found = only(replace(made, assembly=replace(made.assembly, placed=placed)), "edge distance")
    assert found.verdict == "fail"
    # In diameters the bolt 3, M10, at 158 is the nearest, 12 / 10; then the dowel D2, Ø12, at 155: 15 / 12.
    assert found.value == pytest.approx(1.2)
    assert "hole 3 of the gearbox: 12.0 mm = 1.20 d" in found.message
    assert found.limit == 2.0


def test_a_thread_that_strips_before_its_bolt_breaks() -> None:
    """What the bolts engage, cut to a part of it: under what strips (fail), under 1.5 d (look), over it (pass)."""
    made = design(thickness=20)
    line = next(n for n in made.assembly.lines if n.name == "gearbox bolts")
    found = only(made, "thread engagement")
    washer = made.given.thread("M10").row.washer.thickness
    assert found.value == pytest.approx(min(line.length - 12 - washer, 20.0))
    assert found.verdict == "pass"

    def cut_to(engaged: float) -> Finding:
        shorter = replace(line, length=12 + washer + engaged)
        lines = tuple(shorter if n is line else n for n in made.assembly.lines)
        return only(replace(made, assembly=replace(made.assembly, lines=lines)), "thread engagement")

    # M10 8.8 breaks at 46.4 kN (ISO 898-1: 800 MPa on 58 mm²); 6082-T6 of 0.6 x f_u shears over 0.875 pi d Le.
    assert found.limit == pytest.approx(46_400 / (0.875 * math.pi * 10 * made.given.shear_strength), rel=0.01)
    assert cut_to(found.limit - 0.1).verdict == "fail"
    assert "strips before the bolt breaks; longer bolts" in cut_to(found.limit - 0.1).message
    assert cut_to(found.limit + 0.1).verdict == "look"
    assert cut_to(15.0).verdict == "pass"


def two_threads(motor_face: list[dict]) -> Catalogue:
    catalogue = with_row(load_catalogue(), "pattern", "demo-motor-face", "own-face", circles=motor_face)
    return with_row(catalogue, "motor", "demo-motor-90", "own-motor", pattern="own-face", flange=12)


def test_each_of_a_faces_threads_is_judged_by_its_own_depth() -> None:
    """M10 of known depth and M8 of unknown: the M8's bolts are to be measured, whatever the M10's are."""
    wide = {"circle": 165, "count": 6, "first": 0, "kind": "tapped", "thread": "M10", "depth": 22}
    small = {"circle": 165, "count": 2, "first": 30, "kind": "tapped", "thread": "M8", "prefix": "S"}
    catalogue = two_threads([wide, small])
    found = {f.message.split(":")[0]: f for f in check_adapter(design(catalogue, motor="own-motor"))}
    assert found["motor bolts"].verdict == "pass"
    assert found["motor bolts 2"].verdict == "look"
    assert "how deep that thread is, is not known; measure that it takes" in found["motor bolts 2"].message
    # Of like bolts, one depth that is not known leaves the bolts' length to be measured too.
    catalogue = two_threads([wide, {**small, "thread": "M10"}])
    both = only(design(catalogue, motor="own-motor"), "motor's threads")
    assert both.verdict == "look"
    assert "is not known" in both.message


def test_threads_too_short_for_a_bolt_and_a_half() -> None:
    """M10 in 16 mm of full thread: bolts stop two pitches of 1.5 short of its end, and 13 mm are under 15."""
    shallow = [{"circle": 165, "count": 6, "first": 0, "kind": "tapped", "thread": "M10", "depth": 16}]
    found = only(design(two_threads(shallow), motor="own-motor"), "motor's threads")
    assert found.verdict == "look"
    assert found.value <= 13.0
    assert found.limit == 15.0
    assert "tap it deeper" in found.message


def test_a_face_with_tapped_and_free_holes_has_each_judged_as_what_it_is() -> None:
    """The motor's free holes have their threads in the plate: only its tapped ones are its own threads."""
    mixed = [
        {"circle": 165, "count": 6, "first": 0, "kind": "tapped", "thread": "M10", "depth": 22},
        {"circle": 165, "count": 2, "first": 30, "kind": "through", "thread": "M8", "prefix": "F"},
    ]
    made = design(two_threads(mixed), motor="own-motor")
    own = [f for f in check_adapter(made) if f.check == "motor's threads"]
    assert [f.message.split(":")[0] for f in own] == ["motor bolts"]
    engaged = {f.message.split(":")[0]: f for f in check_adapter(made) if f.check == "thread engagement"}
    line = next(n for n in made.assembly.lines if n.name == "motor bolts 2")
    washer = made.given.thread("M8").row.washer.thickness
    assert engaged["motor bolts 2"].value == pytest.approx(min(line.length - 12 - washer, 20.0))


def test_heads_sunk_too_deep() -> None:
    """6 mm of floor asked under an M12 head (half its diameter): of two depths, the deeper one counts."""
    catalogue = with_row(load_catalogue(), "gearbox", None, "g", pattern="demo-bell-8", flange=12, run_out=0.03)
    with_row(catalogue, "motor", "demo-motor-90", "own-motor", pattern="iec-ff265")
    made = design(catalogue, gearbox="g", motor="demo-motor-90", thickness=30)
    sunk = [k for k, one in enumerate(made.motor_holes) if one.sink]
    assert sunk
    good = only(made, "sunk heads")
    assert good.verdict == "pass"
    thread = made.motor_holes[sunk[0]].thread
    assert thread is not None
    assert good.limit == max(thread.diameter / 2, 4.0)
    last = made.motor_holes[sunk[-1]]
    deep = replace(last, sink=30 - last.near - last.far - good.limit + 0.5)
    spoilt = replace(made, motor_holes=(*made.motor_holes[: sunk[-1]], deep, *made.motor_holes[sunk[-1] + 1 :]))
    found = only(spoilt, "sunk heads")
    assert found.verdict == "fail"
    assert found.value == pytest.approx(good.limit - 0.5)


def test_a_plate_too_thin_for_its_sunk_heads_is_not_made() -> None:
    catalogue = with_row(load_catalogue(), "gearbox", None, "g", pattern="demo-bell-8", flange=12, run_out=0.03)
    with pytest.raises(CannotBuild, match="too thin") as no:
        design(catalogue, gearbox="g", thickness=14, plates="one")
    assert no.value.key == "thickness"


def test_bolts_that_do_not_hold_the_torque_by_friction() -> None:
    """Six M10 8.8 on 165 mm: 0.15 x 0.75 x 33.7 kN (ISO 898-1) x 82.5 mm x 6 = 1.88 kN·m; held 1.5 times."""
    held = only(design(), "torque at the motor")
    assert held.verdict == "pass"
    assert held.value == pytest.approx(6 * 0.15 * 0.75 * 33_700 * 0.0825, rel=0.01)
    strong = with_row(load_catalogue(), "motor", "demo-motor-90", "strong", torque=1300)
    found = only(design(strong, motor="strong"), "torque at the motor")
    assert (found.verdict, found.limit) == ("look", 1950.0)
    assert "dowels or a stronger class" in found.message
    assert only(design(strong, motor="strong", bolt_class="10.9"), "torque at the motor").verdict == "pass"
    # The bell's eight bolts stand farther out and hold it.
    assert only(design(strong, motor="strong"), "torque at the gearbox").verdict == "pass"


COUPLER = {"seat": 2, "length": 104, "diameter": 60, "bore_depth": 52, "spline_length": 45}
BEARING = {"inset": 28, "width": 12}


@pytest.mark.parametrize(
    ("check", "thickness", "coupler", "value", "verdict"),
    [
        # The nose stands 14 mm out of the bell: at 61 in 75 mm; the shaft's end at 57 is the floor: 4 mm of gap.
        ("gap before the nose", 79, {}, 8.0, "fail"),
        # The spline begins 8 mm behind the bell's face, at 83 in 75 mm; the coupler's ends at 106: 23 mm engaged.
        ("spline engagement", 75, {}, 23.0, "pass"),
        ("spline engagement", 79, {}, 19.0, "fail"),
        # A bearing 28 mm in, 12 wide: from 66 to 78; the nose's journal from 61 to 79 fills it. 44 in: from 50 to 62.
        ("nose in the pilot bearing", 75, {}, 12.0, "pass"),
        ("nose in the pilot bearing", 75, {"pilot": {"inset": 44, "width": 12}}, 1.0, "fail"),
        # A flywheel's face 80 mm from the coupler's end stands at 82, 7 mm behind the bell's face; 5 ± 1 are asked.
        ("flywheel setting", 75, {"flywheel": {"face": 80, "setting": "5 mm ± 1 mm"}}, 7.0, "fail"),
        ("flywheel setting", 75, {"flywheel": {"face": 78, "setting": "5 mm ± 1 mm"}}, 5.0, "pass"),
    ],
)
def test_the_depth_stack(check: str, thickness: float, coupler: dict, value: float, verdict: str) -> None:
    made = design(thickness=thickness, coupler={**COUPLER, "pilot": BEARING, **coupler}, stock_tolerance=0.1)
    found = only(made, check)
    assert found.value == pytest.approx(value)
    assert found.verdict == verdict


def test_a_step_that_runs_out_more_than_its_flange_allows() -> None:
    """SAE J617 No. 3 allows 0.20 mm; spigot 0.02 + 0.051 and a shop that places to 0.2 mm make 0.271."""
    found = only(design(gearbox="demo-truck-box", placing=0.2), "flange run-out")
    assert (found.verdict, found.limit) == ("look", 0.2)
    assert found.value == pytest.approx(0.02 + 0.051 + 0.2)


def test_what_is_not_known_is_said() -> None:
    assert only(design(lugs=True, thickness=20), "cradle").verdict == "pass"
    bare = with_row(load_catalogue(), "motor", "demo-motor-90", "bare", cradle=None)
    found = only(design(bare, motor="bare", lugs=True), "cradle")
    assert found.verdict == "look"
    assert "no cradle" in found.message
    face = with_row(
        load_catalogue(),
        "pattern",
        "demo-motor-face",
        "own-face",
        pilot={"male": True, "diameter": 130, "fit": "j6"},
        memory="the pilot",
    )
    with_row(face, "motor", "demo-motor-90", "own-motor", pattern="own-face")
    made = design(face, motor="own-motor", pilot_height=3.5)
    assert "3.5 mm are taken; measure it" in only(made, "pilot height").message
    assert "from memory in part (the pilot)" in only(made, "source").message


def test_measured_holes_that_may_not_let_all_bolts_pass() -> None:
    """Each hole known to 1.5 mm either way (19 times in 20), where an 11 mm hole leaves an M10 half a millimetre."""
    bell = load_catalogue().raw["pattern"]["demo-bell-8"].data
    rough = [{**h, "position": 3.0} if h["kind"] == "through" else h for h in bell["holes"]]
    catalogue = with_row(load_catalogue(), "pattern", "demo-bell-8", "rough", holes=rough)
    with_row(catalogue, "gearbox", "demo-five-speed", "own-box", pattern="rough")
    found = only(design(catalogue, gearbox="own-box"), "bolts pass")
    assert found.verdict == "look"
    assert found.value < 0.5
    assert "measure it again or open its hole" in found.message


def test_a_stock_of_thin_sheet_only() -> None:
    catalogue = load_catalogue()
    thin = catalogue.with_row("sheet", catalogue.sheet("alu-6082").model_copy(update={"thicknesses": [2.0, 3.0]}))
    with pytest.raises(CannotBuild, match="stock 'alu-6082' has no plate of 6 mm or more") as no:
        design(thin, thickness=None, coupler={**COUPLER, "pilot": BEARING})
    assert no.value.key == "stock"


def test_a_metal_without_a_strength_makes_no_threads() -> None:
    catalogue = load_catalogue()
    name = catalogue.sheet("alu-6082").material
    bare = catalogue.with_row("material", catalogue.material(name).model_copy(update={"strengths": []}))
    with pytest.raises(CannotBuild, match="has no strength in the table: choose another") as no:
        design(bare)
    assert no.value.key == "stock"


def test_a_pocket_that_the_ring_lies_across() -> None:
    """Plate, ring and plate: what is to be reached through a pocket must lie inside the ring or outside it."""
    sound = design(thickness=75, plates="three")
    ring = next(at.mark for at in sound.plates if at.mark == "ring")
    wide = max(math.hypot(x, y) for x, y, _ in sound.piece(ring).outline)
    pocket = {"name": "sensor", "at": [wide - 15.0, 0], "diameter": 20}
    with pytest.raises(CannotBuild, match="sensor") as no:
        design(thickness=75, plates="three", pockets=[pocket])
    assert no.value.key == "pockets"
