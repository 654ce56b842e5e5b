"""What a solid read back must not be: each difference from the design told by itself."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from baywright.release.fault import ReleaseFault

verify = pytest.importorskip("baywright.release.verify_step")

# A plate of 100 x 50 x 4 mm, its middle in the middle.
PLATE = verify.ReadBody(1, 20_000.0, np.array([50.0, 25.0, 2.0]), True)


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"solids": 2}, "2 solids in the file, 1 in the design"),
        ({"sound": False}, "finds its solid unsound"),
        ({"volume": 20_000.1}, "volume 20000.1 mm3 in the file, 20000 in the design"),
        ({"volume": float("nan")}, "volume nan"),
        ({"centroid": np.array([50.0, 25.0, 2.001])}, "centroid"),
    ],
)
def test_a_body_that_differs(changed: dict, said: str) -> None:
    with pytest.raises(ReleaseFault, match=said) as fault:
        verify._compare(Path("front-lid-A.step"), "front-lid-A", replace(PLATE, **changed), PLATE)
    assert str(fault.value).startswith("front-lid-A.step: front-lid-A: ")


def test_a_body_within_rounding_is_the_same() -> None:
    near = replace(PLATE, volume=20_000.01, centroid=PLATE.centroid + 5e-5)
    verify._compare(Path("a.step"), "a", near, PLATE)


def test_a_fault_goes_from_one_process_to_another_whole() -> None:
    import pickle

    fault = pickle.loads(pickle.dumps(ReleaseFault("lid.dxf", "there is nothing to draw")))
    assert (fault.file, fault.sentence, str(fault)) == (
        "lid.dxf",
        "there is nothing to draw",
        "lid.dxf: there is nothing to draw",
    )
