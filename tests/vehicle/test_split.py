"""The split of modules against trying every layout one by one with the balance itself."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright.figure import save_figure
from baywright.finding import verdict_of
from baywright.job.drive import Road
from baywright.shape.mass import point_mass
from baywright.vehicle.balance import balance
from baywright.vehicle.car import Car, Corners, Item, LadenCase, Ratings, Tyres
from baywright.vehicle.rules import Limit, Profile, check_rules
from baywright.vehicle.split import BayChoices, Choice, Limits, split
from baywright.vehicle.split_job import bare_of, limits_of, reach_of, rule_limits
from baywright.vehicle.split_report import reading_order, render_split, split_figure, split_rows, worth_reading
from baywright.vehicle.unbeaten import unbeaten

CAR = Car(
    name="saloon",
    wheelbase=2400.0,
    front=560.0,
    rear=500.0,
    corners=Corners(281.0, 279.0, 248.0, 252.0),
    track_front=1300.0,
    track_rear=1280.0,
    height=540.0,
    ratings=Ratings(front=720.0, rear=800.0, gross=1450.0),
    removed=(
        Item(name="engine", mass=190.0, x=-40.0, y=0.0, z=560.0),
        Item(name="tank", mass=40.0, x=2800.0, y=0.0, z=400.0),
    ),
    added=(Item(name="motor", mass=80.0, x=200.0, y=0.0, z=450.0),),
    laden=(
        LadenCase(name="two", items=(Item(name="people", mass=150.0, x=1200.0, y=0.0, z=600.0),)),
        LadenCase(name="luggage", items=(Item(name="trunks", mass=120.0, x=2600.0, y=0.0, z=600.0),)),
    ),
)
BAYS = [
    BayChoices(
        bay="front",
        choices=tuple(
            Choice(place=p, count=n, mass=16 + 23.0 * n, x=x, y=-20.0, z=450 + 40.0 * n)
            for p, x in (("flat", 20.0), ("side", 120.0))
            for n in (1, 2, 3)
        ),
    ),
    BayChoices(
        bay="tunnel",
        choices=tuple(Choice(place="flat", count=n, mass=9 + 23.0 * n, x=1200.0, y=0.0, z=300.0) for n in (1, 2)),
    ),
    BayChoices(
        bay="rear",
        choices=tuple(
            Choice(place="flat", count=n, mass=16 + 23.0 * n, x=2300.0 - 10 * n, y=15.0, z=480 + 40.0 * n)
            for n in (1, 2, 3, 4, 5)
        ),
    ),
]
REACH = reach_of(Road(), 3.7, 0.8)


def one_by_one(limits):
    """Return every layout that keeps the limits as {choices: (state, modules)}, by the balance of the whole car."""
    found = {}
    for picked in product(*[(None, *b.choices) for b in BAYS]):
        boxes = [c for c in picked if c is not None]
        count = sum(c.count for c in boxes)
        whole = balance(CAR, [(c.place, point_mass(c.mass, (c.x, c.y, c.z))) for c in boxes])
        states = (whole.after, *whole.laden)
        good = count >= limits.least and (limits.most is None or count <= limits.most) and count % limits.step == 0
        good &= all(s.front <= limits.front and s.rear <= limits.rear and s.mass <= limits.gross for s in states)
        good &= limits.share is None or abs(whole.share_change) <= limits.share
        good &= limits.box is None or all(c.mass <= limits.box for c in boxes)
        good &= not any(count in totals for totals in limits.totals.values())
        wheels = [s.corners.as_tuple() for s in states]
        good &= limits.front_tyre is None or all(max(w[:2]) <= limits.front_tyre for w in wheels)
        good &= limits.rear_tyre is None or all(max(w[2:]) <= limits.rear_tyre for w in wheels)
        if good:
            found[picked] = whole
    return found


@pytest.mark.parametrize(
    "more",
    [
        {},
        {"share": 2.0},
        {"step": 2},
        {"least": 5, "most": 7},
        {"box": 90.0},
        {"share": 1.0, "step": 2, "box": 120.0},
        {"front_tyre": 345.0},
        {"rear_tyre": 400.0},
        {"totals": {"a window": frozenset({4, 7, 500})}},
    ],
)
def test_every_layout_that_keeps_the_limits_and_no_other(more):
    limits = replace(limits_of(CAR), **more)
    expected = one_by_one(limits)
    found = split(bare_of(CAR), BAYS, limits, REACH)
    assert found.tried == 7 * 3 * 6
    layouts = {tuple(found.picked(i).values()): i for i in range(len(found.mass))}
    assert layouts.keys() == expected.keys()
    assert len(layouts) == len(found.mass)
    for picked, i in layouts.items():
        state = expected[picked].after
        assert found.mass[i] == pytest.approx(state.mass)
        assert found.front[i] == pytest.approx(state.front)
        assert found.rear[i] == pytest.approx(state.rear)
        assert found.y[i] == pytest.approx(state.y, abs=1e-9)
        assert found.z[i] == pytest.approx(state.z)
        assert found.share_change[i] == pytest.approx(expected[picked].share_change, abs=1e-9)
        inertia = expected[picked].inertia
        assert found.inertia[i] == pytest.approx([inertia.roll, inertia.pitch, inertia.yaw], abs=1e-9)
    # The best of each kind are the best of the whole list.
    assert abs(found.share_change[found.nearest()]) == pytest.approx(
        min(abs(w.share_change) for w in expected.values())
    )
    assert found.modules[found.farthest()] == max(found.modules)


def beaten(goals, i):
    return any((g <= goals[i]).all() and (g < goals[i]).any() for g in goals)


def test_the_trade_off_front_one_by_one():
    found = split(bare_of(CAR), BAYS, limits_of(CAR), REACH)
    goals = np.column_stack([-found.range, np.abs(found.share_change), found.z])
    expected = {i for i in range(len(goals)) if not beaten(goals, i)}
    assert set(found.trade.tolist()) == expected


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 4), st.integers(1, 60), st.integers(0, 10_000), st.integers(2, 12))
def test_unbeaten_rows(columns, rows, seed, steps):
    goals = np.random.default_rng(seed).integers(0, steps, (rows, columns)).astype(float)
    found = unbeaten(goals)
    kept = {tuple(goals[i]) for i in found}
    assert kept == {tuple(g) for i, g in enumerate(goals) if not beaten(goals, i)}
    assert len(kept) == len(found)  # of rows alike one stays
    assert all(goals[:i].tolist().count(goals[i].tolist()) == 0 for i in found)  # the first


def test_unbeaten_rows_of_a_large_table():
    goals = np.random.default_rng(3).random((30_000, 3))
    goals[:, 2] = np.round(goals[:, 2], 2)
    found = unbeaten(goals)
    for i in found[:50]:
        assert not ((goals <= goals[i]).all(axis=1) & (goals < goals[i]).any(axis=1)).any()
    kept = goals[found]
    for g in goals[::97]:
        assert (kept <= g).all(axis=1).any()


def test_unbeaten_rows_of_a_front_longer_than_a_block():
    """Two goals that pull apart: along a falling curve nothing beats anything, and all above it is beaten."""
    rng = np.random.default_rng(5)
    x = np.sort(rng.random(2400))
    front = np.column_stack([x, 1 - x])
    above = front + rng.uniform(1e-6, 0.5, (2400, 2))
    goals = np.concatenate([above, front])
    assert unbeaten(goals).tolist() == list(range(2400, 4800))


def test_laden_cases_count_against_the_ratings():
    tight = replace(CAR, ratings=Ratings(front=720.0, rear=800.0, gross=1300.0))
    empty = replace(tight, laden=())
    assert len(split(bare_of(tight), BAYS, limits_of(tight), REACH).mass) < len(
        split(bare_of(empty), BAYS, limits_of(empty), REACH).mass
    )


def test_a_rule_profile_drops_what_the_review_would_fail():
    papers = replace(CAR, ratings=replace(CAR.ratings, kerb=1060.0))
    rules = Profile(
        name="strict",
        source="a test",
        limits=[
            Limit(quantity="front share change", least=-1.5, most=2.5),
            Limit(quantity="kerb mass change", least=-4.0, most=6.0),
            Limit(quantity="rear axle load", most=98.0),
            Limit(quantity="front axle load", most=99.0),
            Limit(quantity="laden mass", most=92.0),
        ],
    )
    wide = replace(limits_of(papers), share=None)
    found = split(bare_of(papers), BAYS, rule_limits(wide, rules, papers), REACH)
    kept = {tuple(found.picked(i).values()) for i in range(len(found.mass))}
    expected = {
        picked
        for picked, whole in one_by_one(wide).items()
        if verdict_of(check_rules(rules, whole, papers.ratings)) != "fail"
    }
    assert kept == expected
    assert 0 < len(kept) < len(one_by_one(wide))
    assert found.dropped["front share change (strict)"] > 0


def test_tyres_of_the_car_count():
    thin = replace(CAR, tyres=Tyres(front=70, rear=72))
    found = split(bare_of(thin), BAYS, limits_of(thin), REACH)
    assert found.dropped["tyre load"] > 0
    one = next(iter(one_by_one(limits_of(thin)).values()))
    assert max(one.after.corners.as_tuple()[:2]) <= 335  # index 70


def test_why_layouts_fell_out_is_told():
    found = split(bare_of(CAR), BAYS, replace(limits_of(CAR), step=2, share=0.5), REACH)
    assert found.dropped["equal strings"] > 0
    assert found.dropped["front share"] > 0
    assert found.dropped["fewest modules"] == 1


def test_nothing_that_keeps_the_limits_is_no_layout():
    found = split(bare_of(CAR), BAYS, Limits(least=100), REACH)
    assert (len(found.mass), len(found.trade), found.nearest(), found.farthest()) == (0, 0, None, None)
    assert split_rows(found, worth_reading(found)) == []
    assert render_split(found).row_count == 0


def test_without_a_height_two_goals_are_left():
    flat = replace(CAR, height=None)
    found = split(bare_of(flat), BAYS, limits_of(flat), REACH)
    assert np.isnan(found.z).all()
    assert len(found.trade) > 0
    assert "height, mm" not in split_rows(found, worth_reading(found))[0]


def test_too_many_ways_and_no_bay_are_refused():
    many = [replace(BAYS[0], bay=f"bay {i}") for i in range(9)]
    with pytest.raises(ValueError, match="too many"):
        split(bare_of(CAR), many, Limits(), REACH)
    with pytest.raises(ValueError, match="no bay"):
        split(bare_of(CAR), [], Limits(), REACH)


def test_the_range_between_masses_is_the_range():
    from baywright.vehicle.range import ranges
    from baywright.vehicle.road import road_of

    mass = np.linspace(900.0, 1300.0, 41)
    found = REACH(np.full(41, 8), mass)
    exact = [ranges(8 * 3.7 * 0.8, *road_of(Road(), float(m))).everyday.km for m in mass]
    assert found == pytest.approx(exact, rel=2e-4)


def test_table_and_picture(tmp_path):
    found = split(bare_of(CAR), BAYS, limits_of(CAR), REACH)
    table = render_split(found, most=5)
    assert 1 <= table.row_count <= 5
    assert "unbeaten" in str(table.title)
    # Numbers go by reading order, whatever is shown; a row that is not among the unbeaten says so.
    order = reading_order(found).tolist()
    assert sorted(order) == list(range(len(found.mass)))
    beaten = next(i for i in order if i not in found.trade)
    few = render_split(found, rows=[order[0], beaten], asked=order[0])
    assert list(few.columns[0].cells) == ["1", str(order.index(beaten) + 1)]
    assert list(few.columns[-1 - len(BAYS)].cells) == ["as asked", "beaten"]
    for name in ("a.png", "b.png"):
        save_figure(split_figure(found, marked=found.nearest()), tmp_path / name)
    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "b.png").read_bytes()
