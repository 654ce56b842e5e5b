"""How findings about rails are put together."""

from collections.abc import Sequence

from baywright.finding import Finding, Verdict, at_most
from baywright.rail.stress import Use

FACTORED = "loads times {factor:g} against yield, or against EN 1993-1-8 table 3.4 (from memory)"


def finding(
    check: str,
    verdict: Verdict,
    message: str,
    source: str,
    where: Sequence[str] = (),
    *,
    value: float | None = None,
    limit: float | None = None,
    unit: str = "",
    margin: float | None = None,
    at: tuple[float, float, float] | None = None,
) -> Finding:
    """Return a finding whose subject is filled in once all are together; arguments as `Finding` has them."""
    return Finding(
        subject="",
        check=check,
        verdict=verdict,
        message=message,
        value=value,
        limit=limit,
        unit=unit,
        margin=margin,
        source=source,
        where=tuple(where),
        at=at,
    )


def used(check: str, use: Use, unit: str, thing: str, cure: str, source: str, where: Sequence[str]) -> Finding:
    """Return the finding about a use: fails over its limit."""
    ok = use.share <= 1.0
    told = f"{use.value:.0f} {unit}" if unit not in ("", "mm") else f"{use.value:.2f} {unit}".strip()
    note = f" ({use.note})" if use.note else ""
    return finding(
        check,
        "pass" if ok else "fail",
        f"{thing}: {told} in '{use.case}'{note}" + ("" if ok else f"; {cure}"),
        source,
        where,
        value=use.value,
        limit=use.limit,
        unit=unit,
        margin=at_most(use.value, use.limit),
        at=use.at,
    )
