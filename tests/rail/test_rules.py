"""Rules about rails that no request can break, for the generator keeps them: broken by hand in a finished design.

What a request can break is in test_stress.py and test_clear.py; edge distances and webs are in tests/piece.
"""

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from baywright.finding import Finding
from baywright.job.read import read_job
from baywright.piece.assembly import Assembly, Placed
from baywright.piece.plate import Plate
from baywright.rail.design import RailDesign
from baywright.rail.holding import mount_findings, strength_findings
from baywright.rail.measure import locate
from baywright.rail.rules import _made, _measured
from baywright.rail.stress import solve
from baywright.rooms import room
from baywright.shape.loop import rectangle
from baywright.shape.pose import Pose

STRENGTH = {
    "bar stress",
    "bearing",
    "bolts",
    "cleat stress",
    "foot bolts",
    "foot stress",
    "mount bolt",
    "plate stress",
    "sag",
    "wall pull",
    "weld",
}


def with_shop(design: RailDesign, **changed: object) -> RailDesign:
    """Return the finished rails as a shop with other rules would judge them."""
    ask = design.ask
    shop = ask.shop.model_copy(update=changed)
    return replace(design, given=replace(design.given, ask=ask.model_copy(update={"shop": shop})))


def with_pieces(design: RailDesign, placed: tuple[Placed, ...]) -> RailDesign:
    old = design.assembly
    return replace(design, assembly=Assembly(name=old.name, placed=placed, bonds=old.bonds, lines=old.lines))


def of(findings: Iterable[Finding], check: str) -> list[Finding]:
    return [f for f in findings if f.check == check]


def strength(design: RailDesign) -> list[Finding]:
    return strength_findings(solve(design))


def test_every_figure_of_strength_fails_under_enough_load(demo: RailDesign) -> None:
    """Statics are linear: a hundred times the load is a hundred times the stress, and says what to change."""
    before = {(f.check, f.where): f for f in strength(demo)}
    sag = demo.ask.shop.deflection_most / 1000
    after = strength(with_shop(demo, load_factor=100 * demo.ask.shop.load_factor, deflection_most=sag))
    failed = [f for f in after if f.verdict == "fail"]
    assert {f.check for f in failed} == STRENGTH
    for f in failed:
        assert f.margin is not None
        assert f.margin < 0
        assert "; " in f.message
    for f in after:
        if f.check == "bar stress":
            assert f.value == pytest.approx(100 * before[f.check, f.where].value, rel=1e-9)


def test_a_hanger_plate_too_long_for_its_thickness(demo: RailDesign) -> None:
    """The rear plates stand 67 mm free at 8 mm: 8.4 thicknesses."""
    rear = [f for f in of(strength(with_shop(demo, reach_to_thickness=8.0)), "hanger length") if "rear" in f.where[0]]
    assert {f.verdict for f in rear} == {"fail"}
    assert {f.limit for f in rear} == {64.0}
    assert all("8.4 thicknesses" in f.message for f in rear)


def test_a_mount_s_bolt_that_leans(demo: RailDesign) -> None:
    leaning = replace(demo, hangers=(replace(demo.hangers[0], lean=1.1), *demo.hangers[1:]))
    (found,) = of(strength(leaning), "lean")
    assert (found.verdict, found.value) == ("look", 1.1)
    assert found.where[0] == demo.hangers[0].mount.name


def test_forces_that_do_not_balance(demo: RailDesign) -> None:
    """One mount's force a thousandth off: far over what rounding can leave."""
    solved = solve(demo)
    links = solved.answer.links.copy()
    links[:, next(iter(solved.model.mounts.values()))] *= 1.001
    spoilt = replace(solved, answer=replace(solved.answer, links=links))
    (found,) = [f for f in mount_findings(spoilt) if f.check == "equilibrium"]
    assert found.verdict == "fail"
    assert found.value > 1e-5


def test_pieces_that_overlap_and_a_head_that_no_driver_reaches(demo: RailDesign) -> None:
    placed = demo.assembly.placed
    bar = next(p for p in placed if p.mark == "rail left")
    shifted_by = Pose(bar.pose.turn, bar.pose.shift + np.array([0.0, 5.0, 0.0]))
    shifted = with_pieces(demo, tuple(replace(p, pose=shifted_by) if p is bar else p for p in placed))
    found = of(_made(shifted), "overlap")
    assert {f.verdict for f in found} == {"fail"}
    assert all("rail left" in f.where for f in found)
    # A plate held over the heads of one line of bolts, ten millimetres above them.
    line = next(n for n in demo.assembly.lines if n.screw is not None and n.head[1])
    up = -line.direction
    side = np.array([up[2], up[0], up[1]])
    turn = np.column_stack([side - (side @ up) * up, np.cross(up, side), up])
    over = line.points[0] + up * (line.head[1] + 10.0)
    flat = Plate(role="shelf", outline=rectangle(-8, -8, 8, 8), holes=(), thickness=2.0, material="s", density=7850.0)
    shelf = Placed("shelf", flat, Pose(turn, over))
    found = of(_made(with_pieces(demo, (*placed, shelf))), "driver access")
    assert {f.verdict for f in found} == {"fail"}
    assert line.name in {f.where[0] for f in found}
    assert {f.where[1] for f in found} == {"shelf"}


def taped(tmp_path: Path, *changes: tuple[str, str]) -> list[Finding]:
    text = (room("shared") / "jobs" / "rails-estate.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    path = tmp_path / "job.toml"
    path.write_text(text, encoding="utf-8")
    ask = read_job(path).rails["motor"]
    rails = SimpleNamespace(located=locate(ask.mounts, ask.references), hangers=(), ask=ask, kit=None)
    return of(_measured(rails), "tape")  # type: ignore[arg-type]


def test_a_tape_that_the_others_do_not_bear_out(tmp_path: Path) -> None:
    """The bulkhead's reading of the left mount 25 mm long: it is named, with what the others make of it."""
    (good,) = taped(tmp_path)
    assert good.verdict == "pass"
    found = taped(tmp_path, ('"bulkhead middle" = "670 ± 3"', '"bulkhead middle" = "695 ± 3"'))
    assert {f.verdict for f in found} == {"look"}
    worst = max(found, key=lambda f: f.value)
    assert "reads 695 mm" in worst.message
    assert worst.where == ("front-left",)
    assert "measure it again" in worst.message


def test_readings_that_nothing_checks(tmp_path: Path) -> None:
    """Two tapes and a height hold a mount's three coordinates, and no more."""
    old = ', "bulkhead middle" = "670 ± 3", "front panel middle" = "941 ± 3" }'
    found = taped(tmp_path, (old, " }"), ('"front-left" = "681 ± 3", ', ""))
    (loose,) = [f for f in found if "would not show" in f.message]
    assert loose.verdict == "look"
    assert loose.where == ("front-left",)
