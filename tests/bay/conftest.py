"""What tests of bays share: the script that made the demo's scan, the demo job, its front box."""

import importlib.util
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="session")
def demo_scan():
    """Return the script that made the demo's scan, as a module."""
    spec = importlib.util.spec_from_file_location("demo_scan", Path(__file__).with_name("demo_scan.py"))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def scanned():
    """Return the demo's scan, read."""
    from baywright.bay.scan import read_scan

    return read_scan(ROOT / "shared" / "scans" / "estate-engine.toml")


@pytest.fixture(scope="session")
def catalogue():
    """Return the shop's tables."""
    from baywright.job.catalogue import load_catalogue

    return load_catalogue(ROOT / "no parts of its own")


@pytest.fixture(scope="session")
def ask():
    """Return what the demo's front box asks for, whatever the demo job says today."""
    from baywright.job.models import BoxAsk

    fittings = ["gland-m25", "gland-m25", "signal-22", "coolant-14", "coolant-14", "breather-m12", "burst-vent-40"]
    return BoxAsk.model_validate({"module": "m590", "count": 3, "fittings": [*fittings, "earth-stud-m8"]})


@pytest.fixture(scope="session")
def box(ask, catalogue):
    """Return a box of three modules with fittings and feet."""
    from baywright.box.generate import generate

    return generate("front", ask, catalogue)


@pytest.fixture(scope="session")
def engine():
    """Return the demo's engine bay by tape, whatever the demo job says today."""
    from baywright.bay.envelope import Bay, cuboid, opening

    return Bay(
        name="engine",
        spaces=(cuboid("bay", (-215, -475, 340), (330, 475, 800), low_slack=(3, 3, 2), high_slack=(3, 3, 5)),),
        keep_outs=(cuboid("steering column", (255, -420, 340), (330, -330, 620)),),
        opening=opening([(-230, -480), (330, -480), (330, 480), (-230, 480)], 800, slack=3.0),
        clearance=10.0,
    )
