"""From calculations to a verdict: the rules of the joint that one means may carry alone, case by case."""

import pytest

from baywright.strength.check import Calculation, worst_of_each
from baywright.strength.verdict import carried, governing, member_finding, side_by_side
from baywright.strength.working import Working


def made(use: float, joint: str = "", alone: str = "", **more: object) -> Calculation:
    w = Working()
    w.given("use", use, "", "share", str(more.pop("source", "a handbook")))
    given = {"member": "feet", "piece": "foot 1", "what": "bending", "case": "20g", "throw": "20 g forward"}
    given |= {"demand": use, "resistance": 1.0, "unit": "", "use": use, "working": w, "help": "thicken it"}
    return Calculation(**(given | {"joint": joint, "alone": alone} | more))


def joint(bond: float, screws: float, name: str = "leg", **more: object) -> list[Calculation]:
    return [made(bond, name, "bond", **more), made(screws, name, "screws", **more)]


@pytest.mark.parametrize(
    ("done", "use", "verdict"),
    [
        ([made(0.5)], 0.5, "pass"),
        ([made(0.9)], 0.9, "pass"),
        ([made(0.91)], 0.91, "look"),
        ([made(1.0)], 1.0, "look"),
        ([made(1.01), made(0.2)], 1.01, "fail"),
        ([made(1.5, advice=True)], 1.5, "look"),
        ([made(0.95, advice=True)], 0.95, "pass"),
        (joint(0.3, 0.6), 0.6, "pass"),  # both carry it: the more used is told
        (joint(0.95, 0.6), 0.95, "pass"),
        (joint(0.95, 0.97), 0.97, "look"),
        (joint(1.2, 0.6), 1.2, "look"),  # only the screws carry it: never added
        (joint(0.6, 3.0), 3.0, "look"),
        (joint(1.2, 1.4), 1.2, "fail"),  # neither: the better of them is what fails
        ([*joint(1.2, 0.6), made(1.1)], 1.1, "fail"),
        ([*joint(1.2, 0.6), *joint(0.5, 1.6, "other")], 1.6, "look"),
        ([*joint(1.2, 0.6), *joint(1.1, 0.9)], 1.2, "look"),  # two checks of one means: its worst
        ([*joint(1.2, 0.6), made(1.3, "leg", "screws")], 1.2, "fail"),
    ],
)
def test_what_governs(done, use, verdict):
    one, found, more = governing(done)
    assert (one.use, found) == (use, verdict)
    assert (more != "") == (found == "look" and bool(one.joint) and one.use > 1)


def test_a_joint_under_each_throw_is_its_own():
    """Carried by its bond one way and by its screws the other: never failing, always to be looked at."""
    done = [*joint(1.2, 0.4), *joint(0.4, 1.2, throw="10 g up")]
    assert governing(done)[1] == "look"
    assert governing([*joint(1.2, 0.4), *joint(0.4, 1.2)])[1] == "fail"
    assert governing([*joint(1.2, 0.4), *joint(0.4, 1.2, case="other")])[1] == "look"


def test_which_means_carries_it_is_said():
    assert governing(joint(1.2, 0.62))[2] == "the screws alone would carry it, 62 % used"
    assert governing(joint(0.3, 4.0))[2] == "the bond alone would carry it, 30 % used"
    done = [*joint(1.2, 2.0), made(0.5, "leg", "end screws")]
    one, verdict, more = governing(done)
    assert (one.alone, verdict, more) == ("screws", "look", "the bearers' end screws alone would carry it, 50 % used")


def test_what_is_carried():
    assert carried([]) is None
    assert carried([made(3.0, advice=True)]) is None
    got = carried([made(3.0, advice=True), *joint(1.2, 0.6), made(0.4)])
    assert got is not None
    assert got.use == 0.6


def test_cases_side_by_side():
    done = [made(0.5), made(0.7, case="road"), made(1.2, member="lid"), made(0.8, throw="up")]
    table = side_by_side(done)
    assert {m: {c: (one.use, v) for c, (one, v) in by.items()} for m, by in table.items()} == {
        "feet": {"20g": (0.8, "pass"), "road": (0.7, "pass")},
        "lid": {"20g": (1.2, "fail")},
    }


def test_the_finding_of_a_member():
    done = [
        made(1.25, demand=150.0, resistance=120.0, unit="MPa", note="as drawn", where=("foot 1",), at=(1.0, 2.0, 3.0)),
        made(0.5, case="road", source="another"),
    ]
    found = member_finding("box front", "feet", done)
    assert found.message == (
        "bending under 20 g forward (20g): 150 against 120 MPa, 125 % used; thicken it (as drawn); "
        "other cases: road pass, 50 %"
    )
    assert (found.subject, found.check, found.verdict) == ("box front", "feet", "fail")
    assert (found.value, found.limit, found.unit) == (150, 120, "MPa")
    assert found.margin == pytest.approx(-0.25)
    assert (found.source, found.where, found.at) == ("a handbook", ("foot 1",), (1.0, 2.0, 3.0))


def test_the_finding_of_a_share():
    found = member_finding("box front", "feet", [made(0.95, demand=3.0, resistance=4.0)])
    assert (found.value, found.limit, found.unit) == (95, 100, "%")
    assert found.message == "bending under 20 g forward (20g): 95 % used; thicken it"
    assert member_finding("b", "feet", [made(0.4)]).message == "bending under 20 g forward (20g): 40 % used"
    advice = member_finding("b", "feet", [made(1.4, advice=True)])
    assert (advice.verdict, advice.message[-12:]) == ("look", "; thicken it")
    lame = member_finding("b", "feet", joint(1.2, 0.6)).message
    assert lame == "bending under 20 g forward (20g): 120 % used; the screws alone would carry it, 60 % used"
    small = member_finding("b", "feet", [made(0.4, demand=0.01234, resistance=12.3456, unit="mm")]).message
    assert "0.0123 against 12.3 mm" in small


def test_the_worst_of_each_kind():
    done = [
        made(0.5),
        made(0.7, piece="foot 2"),
        made(0.7, piece="foot 3"),
        made(0.6, what="shear"),
        made(9, member="lid"),
    ]
    got = worst_of_each(done)
    assert [(c.member, c.what, c.use, c.piece) for c in got] == [
        ("feet", "bending", 0.7, "foot 2"),
        ("feet", "shear", 0.6, "foot 1"),
        ("lid", "bending", 9, "foot 1"),
    ]
