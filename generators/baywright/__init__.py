"""Battery boxes, adapter plates and motor rails for electric conversions of classic cars.

The four steps of a job are functions: `read_job`, `design_job`, `review_job`, `release_job`. Each is imported when
first used, so that a review loads no CAD kernel.
"""

from typing import TYPE_CHECKING, Any

from baywright.version import __version__

if TYPE_CHECKING:
    from baywright.design import design_job
    from baywright.job.read import read_job
    from baywright.release.job import release_job
    from baywright.review import review_job

__all__ = ["__version__", "design_job", "read_job", "release_job", "review_job"]

_HOME = {
    "design_job": "baywright.design",
    "read_job": "baywright.job.read",
    "release_job": "baywright.release.job",
    "review_job": "baywright.review",
}


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module 'baywright' has no attribute '{name}'")
    from importlib import import_module

    return getattr(import_module(_HOME[name]), name)
