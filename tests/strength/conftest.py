"""Boxes for the tests of strength: the demo modules in many arrangements, and the shop's tables."""

from collections.abc import Iterable, Sequence

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import assume

from baywright.box.generate import BoxDesign, generate
from baywright.finding import CannotBuild
from baywright.job.catalogue import Catalogue, load_catalogue
from baywright.job.models import BoxAsk
from baywright.strength.allow import Allow
from baywright.strength.bench import Bench
from baywright.strength.check import Calculation
from baywright.strength.path import Statics, Throw

_SHOP = load_catalogue(None)
FITTINGS = ["gland-m25", "gland-m25", "breather-m12", "earth-stud-m8"]


@pytest.fixture(scope="session")
def shop() -> Catalogue:
    return _SHOP


def box(
    style: dict[str, object] | None = None, catalogue: Catalogue = _SHOP, start: str = "workshop", **changes: object
) -> BoxDesign:
    """Return a box of demo modules in a style, with changes to style ("wall.thickness" = 5.0) and request."""
    base = catalogue.style(start)
    for key, value in (style or {}).items():
        head, _, rest = key.partition(".")
        base = base.model_copy(update={head: getattr(base, head).model_copy(update={rest: value}) if rest else value})
    asked: dict[str, object] = {"style": start, "module": "m590", "count": 3, "fittings": FITTINGS, **changes}
    return generate("made", BoxAsk.model_validate(asked), catalogue.with_row("style", base))


def bench(design: BoxDesign, force: Sequence[float] = (0.0, 0.0, 0.0), case: str = "guideline-20g") -> Bench:
    """Return a box thrown by a force (N per kg, box frame) under the strengths of a case."""
    allow = Allow(_SHOP, _SHOP.load(case), design.layout.kit.adhesive)
    way = "forward" if any(force) else ""
    return Bench(Statics(design), allow, Throw(way, 0.0, np.array(force, dtype=float), "thrown by hand"))


def known(done: Iterable[Calculation]) -> dict[tuple[str, str], Calculation]:
    """Return calculations by member and what was checked, each of which must be there once and say where it is."""
    found = list(done)
    by_name = {(one.member, one.what): one for one in found}
    assert len(by_name) == len(found)
    for one in found:
        assert one.help
        assert one.piece
        assert None not in one.where
        assert one.piece in one.where or one.where[0].startswith(one.piece)
    return by_name


@pytest.fixture(scope="session")
def make_box():
    return box


@st.composite
def requests(draw: st.DrawFn) -> dict[str, object]:
    """Draw what is asked of a box: module, count, rows, columns, carrying, turn."""
    module, lies = draw(st.sampled_from([("m590", "flat"), ("m590", "side"), ("m355", "flat"), ("m300t", "flat")]))
    return {
        "start": draw(st.sampled_from(["workshop", "crash-20g"])),
        "module": module,
        "orientation": lies,
        "count": draw(st.integers(1, 6)),
        "columns": draw(st.integers(1, 2)),
        "rows": draw(st.integers(1, 2)),
        "carry": draw(st.sampled_from(["ledges", "tie rods"])) if module != "m355" else "ledges",
        "yaw": float(draw(st.sampled_from([0, 90, -90, 180, 30]))),
        "fittings": [],
        "lift": False,
        "feet": draw(st.sampled_from([True, True, True, False])),
    }


def built(request: dict[str, object]) -> BoxDesign:
    """Return the box of a request; one that can't be built is no example."""
    try:
        return box(**request)
    except CannotBuild:
        assume(False)
        raise
