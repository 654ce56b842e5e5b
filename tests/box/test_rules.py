"""Every rule about a box made to fail once: by a style or a request where that can be, else by a spoilt design.

The generator itself keeps these rules, so that most can only fail if it is wrong: a finished box is spoilt by hand.
"""

from dataclasses import replace

import numpy as np
import pytest

from baywright.box.generate import BoxDesign, generate
from baywright.box.rules import check_box
from baywright.finding import Finding
from baywright.job.catalogue import Catalogue
from baywright.piece.assembly import Assembly, Placed
from baywright.piece.plate import Plate
from baywright.shape.loop import rectangle
from baywright.shape.pose import Pose, shifted

from .conftest import ask_for

FITTINGS = [{"fitting": name} for name in ("gland-m25", "breather-m12", "earth-stud-m8")]


@pytest.fixture(scope="module")
def sound(catalogue: Catalogue) -> BoxDesign:
    """Three modules of 590 x 225 x 108 mm, one on the other, between two long walls."""
    return generate("b", ask_for(fittings=FITTINGS), catalogue)


def of(design: BoxDesign, check: str) -> Finding:
    (one,) = [f for f in check_box(design) if f.check == check]
    return one


def spoilt(design: BoxDesign, **parts: object) -> BoxDesign:
    """Return the box with parts of its assembly replaced."""
    assembly = design.assembly
    kept = {"placed": assembly.placed, "bonds": assembly.bonds, "lines": assembly.lines, **parts}
    return replace(design, assembly=Assembly(name=assembly.name, **kept))  # type: ignore[arg-type]


def moved(design: BoxDesign, mark: str, by: tuple[float, float, float]) -> BoxDesign:
    def shift(item: Placed) -> Placed:
        return replace(item, pose=Pose(item.pose.turn, item.pose.shift + by)) if item.mark == mark else item

    return spoilt(design, placed=tuple(shift(item) for item in design.assembly.placed))


def with_tray(design: BoxDesign, at: tuple[float, float, float], stage: int = 0) -> BoxDesign:
    """Put a tray of sheet, 40 x 40 x 2 mm, into the box."""
    tray = Plate(
        role="tray", outline=rectangle(-20, -20, 20, 20), holes=(), thickness=2.0, material="5754", density=2670.0
    )
    return spoilt(design, placed=(*design.assembly.placed, Placed("tray", tray, shifted(*at), stage)))


def test_a_sound_box_passes_all_of_them(sound: BoxDesign) -> None:
    assert {f.verdict for f in check_box(sound)} == {"pass"}


def test_a_screw_too_near_a_module(sound: BoxDesign) -> None:
    """The bottom module moved 20 mm towards the blind wall: where screws stand out of its angles."""
    before = of(sound, "tip clearance")
    assert before.limit == 6.0
    near = of(moved(sound, "module 1.1.1", (-20.0, 0, 0)), "tip clearance")
    assert near.verdict == "fail"
    assert near.value < 6.0 < before.value
    assert near.where[1] == "module 1.1.1"
    assert "shorter screws" in near.message


@pytest.mark.parametrize(
    ("mark", "by", "check", "value", "who", "key"),
    [
        # The long side walls stand 29.5 mm off, with 1 mm of liner on them: moved by 25, 3.5 are left of 4.
        ("module 2.1.1", (0, 25.0, 0), "module gap, width", 3.5, "liner", "side_clearance"),
        # The blind wall: 29.25 less 1 of liner, less 26.
        ("module 2.1.1", (-26.0, 0, 0), "module gap, length", 2.25, "liner", "end_clearance"),
        # The lid's underside is at 412.6, the top module's at 397.45: raised by 11, 4.15 are left of 5.
        ("module 3.1.1", (0, 0, 11.0), "module gap, height", 4.15, "lid", "layer_clearance"),
        # Between layers 25.6 mm: lowered by 22, 3.6 are left.
        ("module 3.1.1", (0, 0, -22.0), "module gap, height", 3.6, "module 3.1.1", "layer_clearance"),
    ],
)
def test_a_module_nearer_than_its_data_sheet_asks(
    sound: BoxDesign, mark: str, by: tuple[float, float, float], check: str, value: float, who: str, key: str
) -> None:
    found = of(moved(sound, mark, by), check)
    assert found.verdict == "fail"
    assert found.value == pytest.approx(value)
    assert who in found.where
    assert f"raise {key} in the style" in found.message


def test_a_module_that_can_not_pass_what_is_bonded_in(sound: BoxDesign) -> None:
    """A tray over the top module stops every one of them; fitted after the modules it stops none."""
    over = (0.0, 0.0, 402.0)
    found = of(with_tray(sound, over), "modules' way in")
    assert found.verdict == "fail"
    assert found.where[1] == "tray"
    assert "can't pass 'tray' on its way in" in found.message
    assert of(with_tray(sound, over, stage=9), "modules' way in").verdict == "pass"


def test_a_lid_that_can_not_come_off(sound: BoxDesign) -> None:
    found = of(with_tray(sound, (0.0, 0.0, 430.0)), "lid off")
    assert (found.verdict, found.where) == ("fail", ("tray",))


def test_something_solid_in_a_cable_s_room(sound: BoxDesign) -> None:
    space = next(s for s in sound.spaces if s.name == "gland-m25, outside")
    middle = (space.block.low + space.block.high) / 2
    found = of(with_tray(sound, tuple(middle.tolist())), "room for cables")
    assert found.verdict == "fail"
    assert "'tray' stands in the room of gland-m25, outside" in found.message


def test_a_service_space_too_shallow_for_the_cables_bends(catalogue: Catalogue) -> None:
    """A 16 mm cable bends round 6 x 16 = 96 mm: of 120 mm that are needed 90 are asked."""
    design = generate("b", ask_for(fittings=FITTINGS, service_depth=90), catalogue)
    found = of(design, "service space")
    assert found.verdict == "look"
    assert found.value < 96 < found.limit
    assert "raise service_depth" in found.message


def test_lift_points_that_tip_the_box(sound: BoxDesign, catalogue: Catalogue) -> None:
    def lugs(by: tuple[float, float, float]) -> BoxDesign:
        lines = tuple(
            replace(n, points=n.points + np.array(by)) if n.joint == "lifting" else n for n in sound.assembly.lines
        )
        return spoilt(sound, lines=lines)

    before = of(sound, "lift points").value
    below = of(lugs((0, 0, -before - 5.0)), "lift points")
    assert (below.verdict, below.value) == ("fail", pytest.approx(-5.0))
    assert of(lugs((400.0, 0, 0)), "lift points").verdict == "fail"  # all of them on one side of the centroid
    assert of(lugs((0, 200.0, 0)), "lift points").verdict == "fail"
    none = of(generate("b", ask_for(fittings=FITTINGS, lift=False), catalogue), "lift points")
    assert none.verdict == "look"


def test_a_panel_that_is_not_earthed(sound: BoxDesign, catalogue: Catalogue) -> None:
    """The lid hangs on one strap; without the one between service and right wall all others hang in the air."""
    no_lid = replace(sound, straps=tuple(s for s in sound.straps if "lid" not in s.panels))
    assert of(no_lid, "earth straps").where == ("lid",)
    cut = replace(sound, straps=tuple(s for s in sound.straps if set(s.panels) != {"wall service", "wall right"}))
    found = of(cut, "earth straps")
    assert found.verdict == "fail"
    assert found.where == ("floor", "lid", "wall blind", "wall left", "wall right")
    assert of(generate("b", ask_for(), catalogue), "earth stud").verdict == "look"


@pytest.mark.parametrize(("grip", "limit"), [((0.5, 2.5), 2.5), ((3.5, 5.0), 3.5)])
def test_an_insert_that_the_flange_does_not_suit(
    sound: BoxDesign, catalogue: Catalogue, grip: tuple[float, float], limit: float
) -> None:
    """The flange is an angle of 3 mm: too thick for the one insert, too thin for the other."""
    insert = catalogue.insert("rivet-nut-m5")
    low, high = grip
    other = insert.model_copy(update={"grip": insert.grip.model_copy(update={"least": low, "most": high})})
    kit = replace(sound.layout.kit, catalogue=catalogue.with_row("insert", other))
    found = of(replace(sound, layout=replace(sound.layout, kit=kit)), "insert grip")
    assert (found.verdict, found.value, found.limit) == ("fail", 3.0, limit)
    assert found.margin == pytest.approx(-abs(3.0 - limit) / limit)
    assert "choose another lid_screw.insert" in found.message
