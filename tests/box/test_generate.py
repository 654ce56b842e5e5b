"""What must hold of every box, asserted over many generated ones: see the construction's invariants in each test."""

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings

from baywright.box.family import family
from baywright.box.generate import BoxDesign, generate
from baywright.box.rules import check_box
from baywright.finding import CannotBuild
from baywright.piece.bought import Bought
from baywright.piece.extrusion import Extrusion
from baywright.piece.plate import Plate
from baywright.piece.scene import overlapping, scene
from baywright.shape.loop import as_circle, bounds
from baywright.shape.mass import combine

from .conftest import Bench, Case, ask_for, cases, styled

MANY = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
FEW = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def built(case: Case, catalogue: object) -> BoxDesign:
    """Return a case's box; one that can't be built is no example (that it says why is tested apart)."""
    bench = Bench(catalogue, case.module, styled(catalogue.style("workshop"), case.style))  # type: ignore[arg-type,attr-defined]
    try:
        return generate("made", case.ask, bench)  # type: ignore[arg-type]
    except CannotBuild as no:
        said = bool(no.key) and len(no.sentence) > 20
    assert said
    assume(False)
    raise AssertionError


@MANY
@given(case=cases())
def test_nothing_overlaps_and_modules_keep_their_gap(case: Case, catalogue: object) -> None:
    design = built(case, catalogue)
    assert [(a.item.mark, b.item.mark) for a, b in overlapping(scene(design.assembly))] == []
    gaps = np.array(case.module.gap)
    modules = [p.blocks()[0] for p in design.assembly.placed if p.piece.role == "module"]
    assert len(modules) == case.ask.count
    half = np.array(design.layout.inside) / 2
    for i, a in enumerate(modules):
        assert (a.low[:2] > -half).all()
        assert (a.high[:2] < half).all()
        for b in modules[i + 1 :]:
            apart = np.maximum(b.low - a.high, a.low - b.high)
            assert apart.max() >= gaps.min() - 1e-6


@MANY
@given(case=cases())
def test_no_check_of_a_generated_box_fails(case: Case, catalogue: object) -> None:
    failing = [f.message for f in check_box(built(case, catalogue)) if f.verdict == "fail"]
    assert failing == []


@FEW
@given(case=cases())
def test_every_screw_passes_coaxial_holes_of_the_right_size(case: Case, catalogue: object) -> None:
    design = built(case, catalogue)
    kit, assembly = design.layout.kit, design.assembly
    for line in assembly.lines:
        for layer in line.layers:
            piece = assembly.by_mark[layer.mark].piece
            if isinstance(piece, Bought) or layer.use == "bore":
                continue
            holes = [h for h in piece.holes if h.line == line.name]
            assert len(holes) == len(line.points)
            faces, pose = piece.faces(), assembly.by_mark[layer.mark].pose
            for hole in holes:
                x0, y0, x1, y1 = bounds(hole.loop)
                here = pose.after(faces[hole.face].pose)
                centre = here(np.array([(x0 + x1) / 2, (y0 + y1) / 2, 0.0]))
                off = np.linalg.norm(np.cross(centre - line.points, line.direction), axis=1)
                assert off.min() < 1e-6
                assert abs(abs(here.turn[:, 2] @ line.direction) - 1) < 1e-9
                circle = as_circle(hole.loop)
                if layer.use == "clearance":
                    # ISO 273, the class of the style
                    assert circle is not None
                    assert circle[2] == pytest.approx(kit.size(line.size).clearance.medium)
                if layer.use == "tapped":
                    assert circle is not None
                    assert circle[2] == pytest.approx(kit.size(line.size).tap_drill)


@FEW
@given(case=cases())
def test_faying_surfaces_are_parallel_and_a_bond_line_apart(case: Case, catalogue: object) -> None:
    design = built(case, catalogue)
    assert design.assembly.bonds
    for bond in design.assembly.bonds:
        first, second = (design.assembly.by_mark[m].blocks() for m in (bond.first, bond.second))
        normal = bond.pose.turn[:, 2]
        axis = int(np.argmax(np.abs(normal)))
        assert bond.thickness == pytest.approx(design.layout.bond)
        middle = bond.pose(np.array([*np.mean(bond.region[:, :2], axis=0), bond.thickness / 2]))
        # A point in the middle of the bond has metal of one piece half a bond line away on each side.
        near = []
        for blocks in (first, second):
            gaps = [max(0.0, *(np.maximum(b.low - middle, middle - b.high))) for b in blocks]
            near.append(min(gaps))
        assert near == pytest.approx([bond.thickness / 2] * 2, abs=1e-6)
        assert axis in (0, 1, 2)


@FEW
@given(case=cases())
def test_mass_is_the_ledger_and_every_panel_is_earthed(case: Case, catalogue: object) -> None:
    design = built(case, catalogue)
    whole = design.mass_properties
    again = combine(p for _, p in design.assembly.ledger())
    assert whole.mass == pytest.approx(again.mass, rel=1e-12)
    assert whole.mass > case.ask.count * case.module.mass
    assert np.linalg.eigvalsh(whole.inertia).min() > 0
    panels = {p.mark for p in design.assembly.placed if p.mark.startswith("wall") or p.mark in ("lid", "floor")}
    linked = {"wall service"}
    for _ in panels:
        for strap in design.straps:
            if linked & set(strap.panels):
                linked |= set(strap.panels)
    assert linked == panels


@FEW
@given(case=cases())
def test_lid_comes_off_and_the_outside_is_what_the_panels_make(case: Case, catalogue: object) -> None:
    design = built(case, catalogue)
    layout = design.layout
    floor = design.assembly.by_mark["floor"].blocks()[0]
    assert (floor.high - floor.low)[:2] == pytest.approx(layout.outside)
    walls = [design.assembly.by_mark[f"wall {n}"].blocks()[0] for n in ("right", "left", "service", "blind")]
    low, high = np.min([w.low for w in walls], axis=0), np.max([w.high for w in walls], axis=0)
    # Two long walls at full length; end walls between them, a bond line off each.
    assert (high - low)[:2] == pytest.approx(layout.outside)
    assert high[2] == pytest.approx(layout.wall_top)


@pytest.mark.parametrize("carry", ["ledges", "tie rods"])
def test_plan_and_feet_are_equal_for_one_to_six_modules(carry: str, catalogue: object) -> None:
    members = family("f", ask_for(carry=carry), range(1, 7), catalogue)  # type: ignore[arg-type]
    assert [m.problem for m in members] == [""] * 6
    assert len({m.feet for m in members}) == 1
    assert len({m.outside[:2] for m in members}) == 1
    heights = [m.outside[2] for m in members]
    assert heights == sorted(heights)
    steps = np.diff([m.mass for m in members])
    assert np.ptp(steps[1:]) < 0.05 * steps.mean()


@pytest.mark.parametrize("carry", ["ledges", "tie rods"])
def test_feet_on_the_long_walls_are_equal_for_one_to_six_modules(carry: str, catalogue: object) -> None:
    members = family("f", ask_for(carry=carry, style="crash-20g"), range(1, 7), catalogue)  # type: ignore[arg-type]
    assert [m.problem for m in members] == [""] * 6
    assert len({m.feet for m in members}) == 1
    assert len({m.outside[:2] for m in members}) == 1
    box = generate("f", ask_for(carry=carry, style="crash-20g"), catalogue)  # type: ignore[arg-type]
    assert {foot.wall for foot in box.feet} == {"right", "left"}
    # Round holes at the blind end, slots along the box at the other; both walls alike.
    assert sorted(foot.slotted for foot in box.feet) == [False, False, True, True]
    blind = max(foot.bolts[:, 0].max() for foot in box.feet if not foot.slotted)
    assert blind < min(foot.bolts[:, 0].min() for foot in box.feet if foot.slotted)
    eyes = np.array([line.points[0] for line in box.assembly.lines if line.joint == "lifting"])
    for x in np.concatenate([foot.bolts[:, 0] for foot in box.feet]):
        assert np.abs(eyes[:, 0] - x).min() >= 25 + 10, "a socket's way down to the bolt, past the lug and its length"
    right, left = (sorted(f.bolts[:, 0].tolist() for f in box.feet if f.wall == w) for w in ("right", "left"))
    assert right == left


def test_two_modules_extend_to_five_without_another_pattern(catalogue: object) -> None:
    """A two-module box extends to three, four, five (common practice, no source)."""
    two, five = (
        generate("b", ask_for(count=n), catalogue)  # type: ignore[arg-type]
        for n in (2, 5)
    )
    assert two.layout.outside == five.layout.outside
    for a, b in zip(two.feet, five.feet, strict=True):
        assert np.allclose(a.bolts, b.bolts)
        assert a.slotted == b.slotted
    same = {"floor", "floor angle service", "floor angle blind", "lid"}
    for mark in same:
        one, other = two.assembly.by_mark[mark].piece, five.assembly.by_mark[mark].piece
        assert isinstance(one, Plate | Extrusion)
        assert one.mass_properties().mass == pytest.approx(other.mass_properties().mass, rel=1e-9)


def test_the_same_request_gives_the_same_box(catalogue: object) -> None:
    first, second = (generate("b", ask_for(count=3), catalogue) for _ in range(2))  # type: ignore[arg-type]
    assert first.mass_properties.mass == second.mass_properties.mass
    assert [p.mark for p in first.assembly.placed] == [p.mark for p in second.assembly.placed]


@pytest.mark.parametrize(
    ("changes", "key", "words"),
    [
        ({"orientation": "end"}, "orientation", "may not lie"),
        ({"service_depth": 20}, "service_depth", "at least"),
        ({"fittings": [{"fitting": "burst-vent-40"}] * 30}, "fittings", "does not fit"),
        ({"fittings": [{"fitting": "gland-m25", "at": [500, 200]}]}, "fittings", "leaves the free part"),
        ({"fittings": [{"fitting": "gland-m25", "at": [y, 200]} for y in (0, 10)]}, "fittings", "overlaps"),
        ({"module": "m355", "carry": "tie rods"}, "carry", "full height"),
    ],
)
def test_what_cannot_be_built_says_which_key(
    changes: dict[str, object], key: str, words: str, catalogue: object
) -> None:
    with pytest.raises(CannotBuild) as no:
        generate("b", ask_for(**changes), catalogue)  # type: ignore[arg-type]
    assert no.value.key == key
    assert words in no.value.sentence


def test_low_ears_are_screwed_down_through_their_recess_or_say_that_it_is_too_narrow(catalogue: object) -> None:
    """A head 16 mm up in a module 108 mm high: it and its driver stand in the recess above the ear."""
    design = generate("b", ask_for(module="m355", count=2), catalogue)  # type: ignore[arg-type]
    assert {f.verdict for f in check_box(design) if f.check in ("overlap", "driver access")} == {"pass"}
    row = catalogue.module("m355")  # type: ignore[attr-defined]
    narrow = row.model_copy(update={"hold_downs": [row.hold_downs[0].model_copy(update={"recess": 9.0})]})
    with pytest.raises(CannotBuild) as no:
        generate("b", ask_for(module="m355", count=2), Bench(catalogue, narrow))  # type: ignore[arg-type]
    assert no.value.key == "module"
    assert "9 mm wide, head and washer of M6 take 12.0 mm" in no.value.sentence


@pytest.mark.parametrize("turned", ["flat", "side"])
@pytest.mark.parametrize(("columns", "rows"), [(1, 1), (2, 1), (1, 2), (3, 2)])
def test_stacks_side_by_side_and_end_to_end(columns: int, rows: int, turned: str, catalogue: object) -> None:
    count = columns * rows * 2 - 1  # the top layer is not full
    design = generate("b", ask_for(count=count, columns=columns, rows=rows, orientation=turned), catalogue)  # type: ignore[arg-type]
    assert sum(p.piece.role == "module" for p in design.assembly.placed) == count
    assert [f.message for f in check_box(design) if f.verdict == "fail"] == []
