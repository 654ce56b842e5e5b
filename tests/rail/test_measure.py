import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from baywright.finding import CannotBuild
from baywright.job.rails import MountAsk
from baywright.job.units import Measured
from baywright.rail.measure import locate

REFERENCES = {
    "left strut": [-20.0, -520.0, 760.0],
    "right strut": [-20.0, 520.0, 760.0],
    "bulkhead": [420.0, 30.0, 690.0],
    "front panel": [-480.0, 0.0, 520.0],
}
TRUE = {
    "front left": np.array([-60.0, -330.0, 380.0]),
    "front right": np.array([-62.0, 333.0, 381.0]),
    "rear left": np.array([350.0, -210.0, 300.0]),
    "rear right": np.array([352.0, 208.0, 301.0]),
}


def asked(name, to, noise=None, height=True, **more):
    place = TRUE[name]
    rng = noise or (lambda: 0.0)
    tape = {r: float(np.linalg.norm(place - (REFERENCES.get(r) if r in REFERENCES else TRUE[r]))) + rng() for r in to}
    data = {"tape": tape, **more}
    if height:
        data["height"] = float(place[2]) + rng()
    return MountAsk.model_validate(data)


def near(place, off=60.0):
    return [float(c + d) for c, d in zip(place, (off, -off, off / 2), strict=True)]


def test_exact_tapes_give_exact_places():
    mounts = {n: asked(n, ["left strut", "right strut", "bulkhead", "front panel"]) for n in TRUE}
    got = locate(mounts, REFERENCES)
    for name, place in TRUE.items():
        assert np.abs(got.places[name] - place).max() < 1e-3
    assert max(abs(r.residual) for r in got.readings) < 1e-3


def test_coordinates_are_taken_as_they_are():
    ask = MountAsk.model_validate({"at": ["-60 mm ± 2 mm", -330, "15 in"]})
    got = locate({"a": ask}, {})
    assert got.places["a"] == pytest.approx([-60, -330, 381])
    assert got.spread["a"] == 2
    assert got.readings == ()


def test_two_places_ask_for_a_hint_and_the_hint_decides():
    """Two strut tops side by side and a height: the mount may be before or behind the line between them."""
    name = "front left"
    with pytest.raises(CannotBuild, match="two places for 'front left'") as no:
        locate({name: asked(name, ["left strut", "right strut"])}, REFERENCES)
    assert no.value.key == "mounts.front left.tape"
    got = locate({name: asked(name, ["left strut", "right strut"], near=near(TRUE[name], 30.0))}, REFERENCES)
    assert np.abs(got.places[name] - TRUE[name]).max() < 1e-3


def test_a_diagonal_between_mounts_helps():
    mounts = {
        "front left": asked("front left", ["left strut", "right strut"], near=near(TRUE["front left"], 30.0)),
        "front right": asked("front right", ["bulkhead", "front left"], near=near(TRUE["front right"], 30.0)),
    }
    got = locate(mounts, REFERENCES)
    assert np.abs(got.places["front right"] - TRUE["front right"]).max() < 1e-2


@given(st.integers(0, 10_000))
def test_noisy_tapes_are_adjusted_within_their_tolerance(seed):
    rng = np.random.default_rng(seed)
    noise = lambda: float(rng.normal(0, 1.0))  # noqa: E731
    to = ["left strut", "right strut", "bulkhead", "front panel"]
    mounts = {n: asked(n, to, noise, near=near(p)) for n, p in TRUE.items()}
    diagonal = float(np.linalg.norm(TRUE["front left"] - TRUE["rear right"])) + noise()
    mounts["rear right"] = mounts["rear right"].model_copy(
        update={"tape": mounts["rear right"].tape | {"front left": Measured(diagonal)}}
    )
    got = locate(mounts, REFERENCES)
    for name, place in TRUE.items():
        # The tolerance of 3 mm is three of the noise's own widths; the spread must cover the error with it.
        assert np.linalg.norm(got.places[name] - place) < 2.0 * got.spread[name]
    # Least squares: no shift of one place makes the fit better.
    assert all(0 <= r.checked <= 1 for r in got.readings)
    spare = len(got.readings) - 12
    assert sum(r.checked for r in got.readings) == pytest.approx(spare, abs=0.05)


def test_residuals_are_stationary():
    rng = np.random.default_rng(5)
    to = ["left strut", "right strut", "bulkhead", "front panel"]
    ask = {"rear left": asked("rear left", to, lambda: float(rng.normal(0, 2)))}
    got = locate(ask, REFERENCES)
    place = got.places["rear left"]

    def misfit(p):
        sums = sum((r.value - np.linalg.norm(p - REFERENCES[r.second])) ** 2 for r in got.readings if r.second)
        return sums + sum((r.value - p[2]) ** 2 for r in got.readings if not r.second)

    for step in np.vstack([np.eye(3), -np.eye(3)]) * 0.05:
        assert misfit(place + step) > misfit(place)


def test_too_few_and_idle_readings_are_told():
    with pytest.raises(CannotBuild, match="at least three"):
        locate({"rear left": asked("rear left", ["left strut"])}, REFERENCES)
    flat = {
        "a": [0.0, 0.0, 300.0],
        "b": [100.0, 0.0, 300.0],
        "c": [200.0, 0.0, 300.0],
    }
    # Three references in one line: the mount may turn about that line.
    ask = MountAsk.model_validate({"tape": {"a": 500, "b": 510, "c": 540}, "near": [0, 400, 600]})
    with pytest.raises(CannotBuild, match="free to move"):
        locate({"m": ask}, flat)
    twice = {
        "front left": asked("front left", ["left strut", "right strut", "bulkhead", "front right"]),
        "front right": asked("front right", ["left strut", "right strut", "bulkhead", "front left"]),
    }
    with pytest.raises(CannotBuild, match="given twice"):
        locate(twice, REFERENCES)
