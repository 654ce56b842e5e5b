"""Modules whose cables leave at the other end are laid the other way round: leads always run to the service end."""

import numpy as np
import pytest

from baywright.box.generate import generate
from baywright.box.rules import check_box
from baywright.finding import CannotBuild
from baywright.job.catalogue import Catalogue

from .conftest import Bench, ask_for, module_of


def test_poles_at_the_far_end_are_turned_to_the_service_end(catalogue: Catalogue) -> None:
    module = module_of(590, 225, 108)
    half = 590 / 2
    away = [t.model_copy(update={"at": (-half, t.at[1], t.at[2]), "exit": "-x"}) for t in module.terminals]
    heavy = module.model_copy(update={"centre_of_mass": (100.0, 0.0, 54.0)})
    turned = heavy.model_copy(update={"terminals": away, "centre_of_mass": (-100.0, 0.0, 54.0)})
    plain, other = (generate("b", ask_for(module="made-up"), Bench(catalogue, m)) for m in (heavy, turned))  # type: ignore[arg-type]
    assert {f.check: f.verdict for f in check_box(other)} == {f.check: f.verdict for f in check_box(plain)}
    end = other.layout.modules_end
    leads = [s for s in other.spaces if s.of.startswith("module")]
    assert leads
    assert all(s.block.low[0] >= end - 1e-6 for s in leads)
    # Turned by half about its middle it is the same module: the same box, the same centroid.
    assert other.layout.outside == plain.layout.outside
    assert np.allclose(other.mass_properties.centroid, plain.mass_properties.centroid, atol=1e-6)


def test_a_module_without_holes_that_way_up_says_so(catalogue: Catalogue) -> None:
    module = module_of(590, 225, 108)
    flat = module.model_copy(update={"hold_downs": [h for h in module.hold_downs if h.axis == "z"]})
    with pytest.raises(CannotBuild, match="has no hold-down holes that stand upright when it lies 'side'") as no:
        generate("b", ask_for(module="made-up", orientation="side"), Bench(catalogue, flat))  # type: ignore[arg-type]
    assert no.value.key == "orientation"
