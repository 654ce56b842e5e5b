"""Rule profiles: the shop's data, and each limit passed, broken and not known."""

import pytest

from baywright.job.messages import BadInput
from baywright.shape.mass import point_mass
from baywright.vehicle.balance import balance
from baywright.vehicle.car import Car, Item, LadenCase, Ratings
from baywright.vehicle.rules import Profile, check_rules, profile, profiles

CAR = Car(
    name="c",
    wheelbase=2000.0,
    front=400.0,
    rear=300.0,
    ratings=Ratings(front=520.0, rear=560.0, gross=1000.0, kerb=700.0),
    laden=(LadenCase(name="two up", items=(Item(name="people", mass=150.0, x=1100.0),)),),
)


def rules(*limits):
    return Profile.model_validate({"name": "p", "source": "invented", "limits": list(limits)})


def one(quantity, car=CAR, boxes=(), power=None, before=None, **ends):
    return check_rules(rules({"quantity": quantity, **ends}), balance(car, boxes), car.ratings, power, before)[0]


def test_every_profile_of_the_shop_reads_and_names_its_source():
    assert {"workshop", "retrofit-order", "modification-code"} <= set(profiles())
    for found in profiles().values():
        assert found.source
        assert all(f.source.endswith("decide") for f in check_rules(found, balance(CAR), CAR.ratings))


def test_an_unknown_profile_is_named_with_the_nearest():
    with pytest.raises(BadInput, match="did you mean 'workshop'"):
        profile("workshp")


@pytest.mark.parametrize(("box", "verdict"), [(139.0, "pass"), (141.0, "fail")])
def test_kerb_mass(box, verdict):
    found = one("kerb mass change", boxes=[("box", point_mass(box, (900, 0, 0)))], least=-20.0, most=20.0)
    assert found.verdict == verdict
    assert found.value == pytest.approx(100 * box / 700)
    assert found.margin == pytest.approx((20 - 100 * box / 700) / 20)


def test_power_goes_by_the_papers():
    assert one("power", power=40.0, before=50.0, least=65.0, most=100.0).verdict == "pass"
    assert one("power", power=30.0, before=50.0, least=65.0, most=100.0).verdict == "fail"
    assert one("power", power=61.0, before=50.0, most=120.0).verdict == "fail"
    unknown = one("power", power=40.0, most=120.0)
    assert unknown.verdict == "look"
    assert "car.papers.power" in unknown.message


def test_loads_are_those_of_the_heaviest_laden_case():
    found = one("laden mass", most=100.0)
    assert found.value == pytest.approx(85.0)
    assert one("rear axle load", most=60.0).value == pytest.approx(100 * (300 + 82.5) / 560)
    assert one("rear axle load", most=60.0).verdict == "fail"


def test_the_axle_split():
    found = one("front share change", boxes=[("box", point_mass(100.0, (2000, 0, 0)))], least=-5.0, most=5.0)
    assert found.value == pytest.approx(50 - 400 / 7)
    assert found.verdict == "fail"
    assert "under by 2.1" in found.message


@pytest.mark.parametrize(
    "limit", [{"quantity": "power"}, {"quantity": "power", "least": 2.0, "most": 1.0}, {"quantity": "colour"}]
)
def test_limits_that_say_nothing_are_refused(limit):
    with pytest.raises(ValueError, match=r"needs least|not be more|colour|Input should be"):
        rules(limit)
