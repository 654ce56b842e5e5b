"""A review as JSON, for programs."""

import dataclasses
import json
import math
from typing import Any

from baywright.review import Review
from baywright.version import __version__


def as_text(result: Review) -> str:
    """Return the review as JSON text: boxes, findings worst first, balance; mm, kg, vehicle frame where it is named."""
    boxes = {}
    for name, box in result.design.boxes.items():
        own, there = box.mass_properties, box.mass_properties.moved(box.pose)
        boxes[name] = {
            "module": box.layout.ask.module,
            "count": box.layout.ask.count,
            "outside_mm": [*box.layout.outside, box.layout.lid_under + box.layout.kit.style.lid.thickness],
            "mass_kg": own.mass,
            "centroid_mm": own.centroid.tolist(),
            "centroid_vehicle_mm": there.centroid.tolist(),
            "inertia_kg_mm2": own.inertia.tolist(),
        }
    whole = {
        "baywright": __version__,
        "job": result.design.job.name,
        "verdict": result.verdict,
        "boxes": boxes,
        "balance": {
            state.name: {**dataclasses.asdict(state), "front_share": state.front_share, "left_share": state.left_share}
            for state in (result.balance.before, result.balance.stripped, result.balance.after)
        },
        "findings": [dataclasses.asdict(f) for f in result.findings],
    }
    return json.dumps(_plain(whole), indent=1, ensure_ascii=False, allow_nan=False)


def _plain(value: Any) -> Any:
    """Return a value that JSON can hold: no infinities, numbers to twelve digits."""
    if isinstance(value, dict):
        return {key: _plain(v) for key, v in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(v) for v in value]
    if isinstance(value, float):
        return float(f"{value:.12g}") if math.isfinite(value) else None
    return value
