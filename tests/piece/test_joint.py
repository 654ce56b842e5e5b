"""What a screw line says of its thread."""

import numpy as np
import pytest

from baywright.piece.joint import ScrewLine


@pytest.mark.parametrize(
    ("size", "diameter"), [("M5", 5.0), ("M12", 12.0), ("3/8-16", 9.525), ("1/2-13", 12.7), ("", 0.0)]
)
def test_nominal_diameter_of_metric_and_inch_threads(size: str, diameter: float) -> None:
    """Inch threads by their fraction of an inch (ASME B1.1): 3/8 in = 9.525 mm."""
    line = ScrewLine(
        name="a",
        joint="a",
        screw=None,
        size=size,
        length=0.0,
        points=np.zeros((1, 3)),
        direction=np.array([0.0, 0.0, -1.0]),
        layers=(),
    )
    assert line.diameter == pytest.approx(diameter)
