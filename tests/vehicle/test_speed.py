"""How many layouts a second the split weighs, beside the balance one by one. Ratios are printed, times never judged."""

import time

import numpy as np

from baywright.shape.mass import point_mass
from baywright.vehicle.balance import balance
from baywright.vehicle.car import Car, Item, Ratings
from baywright.vehicle.split import BayChoices, Choice, split
from baywright.vehicle.split_job import bare_of, limits_of

CAR = Car(
    name="saloon",
    wheelbase=2400.0,
    front=560.0,
    rear=500.0,
    height=540.0,
    ratings=Ratings(front=720.0, rear=800.0, gross=1450.0),
    removed=(Item(name="engine", mass=190.0, x=-40.0, y=0.0, z=560.0),),
)


def bay(name: str, x: float) -> BayChoices:
    """Return a bay with 99 choices: 11 counts at 9 places."""
    choices = [
        Choice(place=str(step), count=n, mass=14 + 23.0 * n, x=x + 20 * step, y=0.0, z=400 + 10.0 * n)
        for step in range(9)
        for n in range(1, 12)
    ]
    return BayChoices(bay=name, choices=tuple(choices))


def test_a_million_layouts(benchmark):
    bays = [bay("front", 0.0), bay("tunnel", 1200.0), bay("rear", 2200.0)]
    bare, limits = bare_of(CAR), limits_of(CAR)
    found = benchmark.pedantic(split, (bare, bays, limits, lambda n, _mass: 1.0 * n), rounds=3)
    assert found.tried == 1_000_000
    assert 0 < len(found.mass) < found.tried
    start = time.perf_counter()
    for i in range(200):
        picked = [c for c in found.picked(i * len(found.mass) // 200).values() if c is not None]
        whole = balance(CAR, [(c.place, point_mass(c.mass, (c.x, c.y, c.z))) for c in picked])
        assert np.isclose(whole.after.mass, found.mass[i * len(found.mass) // 200])
    theirs = (time.perf_counter() - start) / 200
    ours = benchmark.stats["min"] if benchmark.stats else float("nan")
    start = time.process_time()
    split(bare, bays, limits, lambda n, _mass: 1.0 * n)
    busy = time.process_time() - start
    print(
        f"\n{found.tried / busy / 1e6:.1f} million layouts a second of one core, trade-off included; "
        f"{theirs * found.tried / ours:.0f} times as fast as one by one"
    )
