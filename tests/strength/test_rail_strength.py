"""Rails line by line: what is written out is what the review reckoned, from other code."""

import copy

import pytest
from typer.testing import CliRunner

from baywright.cli import app
from baywright.job.catalogue import load_catalogue
from baywright.job.messages import BadInput
from baywright.job.rails import RailsAsk
from baywright.rail.design import RailDesign
from baywright.rail.generate import generate
from baywright.rail.rules import review_rails
from baywright.rail.stress import solve
from baywright.rooms import room
from baywright.strength.page import strength_page
from baywright.strength.rails import rail_calculations
from baywright.strength.working import Working

from ..rail.conftest import BASE, FEET

JOB = str(room("shared") / "jobs" / "rails-estate.toml")
# Checks of strength that hold nothing against a calculated limit: they measure, or only say.
PLAIN = {"torque reaction", "equilibrium", "lean", "stud", "nut behind", "natural frequency"}


@pytest.fixture(scope="module", params=["lugs", "feet", "channel"])
def rails(request) -> RailDesign:
    asked = copy.deepcopy(BASE)
    if request.param == "feet":
        asked["cradle"] = copy.deepcopy(FEET)
    if request.param == "channel":
        asked["section"] = "channel-40x80x5-s235"
    return generate("motor", RailsAsk.model_validate(asked, context={"units": {}}), load_catalogue())


def test_every_figure_of_the_review_is_written_out(rails):
    done = rail_calculations(rails)
    for finding in review_rails(rails)[1]:
        if finding.check in PLAIN or finding.limit is None:
            continue
        assert any(
            one.member.removesuffix(" at mounts") == finding.check
            and one.use == pytest.approx(1 - finding.margin, rel=1e-6)
            for one in done
        ), finding


def test_the_lines_come_to_what_was_reckoned_for_every_piece(rails):
    """All cases at once in one code, the governing one line by line in another."""
    solved = solve(rails)
    done = {(one.member, one.piece, one.what): one for one in rail_calculations(rails)}

    def of(member: str, piece: str, last: str = "") -> float:
        return next(c.use for (m, p, what), c in done.items() if (m, p) == (member, piece) and what.endswith(last))

    for bar in rails.bars.values():
        assert of("bar stress", bar.mark) == pytest.approx(solved.bar(bar).share, rel=1e-9)
    for joint in rails.joints:
        assert of("bolts", joint.name) == pytest.approx(solved.bolts(joint).share, rel=1e-9)
        for ply in joint.plies:
            assert of("bearing", ply.mark, joint.name) == pytest.approx(solved.bearing(joint, ply).share, rel=1e-9)
    for hanger in rails.hangers:
        assert of("foot stress", hanger.foot.mark) == pytest.approx(solved.foot(hanger).share, rel=1e-9)
        assert of("mount bolt", hanger.mount.name) == pytest.approx(solved.mount_bolt(hanger).share, rel=1e-9)


def test_every_line_names_its_source_or_follows_from_others(rails):
    given = {step.symbol for one in rail_calculations(rails) for step in one.working.steps if step.formula == ""}
    formulas = {step.formula for one in rail_calculations(rails) for step in one.working.steps if step.formula}
    assert len(formulas) > 25
    assert given
    for one in rail_calculations(rails):
        assert any(step.source for step in one.working.steps), one.member


def test_working_knows_logarithms_and_pi():
    w = Working()
    w.given("p", 2.0, "", "")
    assert w.let("q", "ln(p) * π", "", "") == pytest.approx(2.1775860903036)
    assert w.lines()[1][1] == "ln(p) · π = ln(2) · π = 2.1776"


def test_the_command_and_the_page():
    run = CliRunner().invoke
    got = run(app, ["why", JOB, "--of", "motor"])
    assert got.exit_code == 0
    assert {"bar stress", "wall pull", "plate stress", "weld"} <= set(got.output.replace("  ", "\n").splitlines())
    text = " ".join(run(app, ["why", JOB, "bar stress", "--of", "motor"]).output.split())
    assert "use = σ_v / f_y" in text
    assert "EN 10025-2" in text
    no = run(app, ["why", JOB, "--of", "motor", "--load", "workshop"])
    assert isinstance(no.exception, BadInput)
    assert "load cases of their own" in str(no.exception)


def test_the_page_has_every_figure(rails):
    page = strength_page(rails, [], ["a caution"])
    assert page.count("<tr><td>bolts</td>") == len(rails.joints)
    assert page.count("<h2>") == len({one.member for one in rail_calculations(rails)})
    assert "guesses of the usual order" in page
