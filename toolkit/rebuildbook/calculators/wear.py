"""How much of a part's wear allowance is used, and what that makes of the part."""

from __future__ import annotations

from typing import Any, Literal

from rebuildbook.units import quantities

Disposition = Literal["reuse", "rework", "replace"]


@quantities("", measured="m", new="m", limit="m")
def wear_used(measured: Any, new: Any, limit: Any) -> Any:
    """Share of the wear allowance that is used up, w = (m − n)/(l − n).

    ``measured`` m, ``new`` n and ``limit`` l in metres. 0 is as new and 1 at the limit; below 0 the
    part is better than new. It serves bores that grow and rods that shrink alike, as the sign of
    l − n cancels. Raises ValueError where the limit equals the new size.

    >>> f'{wear_used("63.6 mm", "63.5 mm", "63.75 mm"):.0%}'
    '40%'
    >>> f'{wear_used("24.95 mm", "25 mm", "24.9 mm"):.0%}'
    '50%'
    """
    if limit == new:
        raise ValueError(f"limit {limit} m is the new size; a wear limit differs from it")
    return (measured - new) / (limit - new)


def disposition(
    measured: float, new: float, reuse_limit: float, rework_limit: float | None = None
) -> Disposition:
    """Say what becomes of a part; sizes in metres.

    At the reuse limit a part is still reused; beyond it, up to the rework limit, it is reworked;
    beyond that, or without a rework limit, replaced.

    >>> disposition(63.80e-3, 63.5e-3, 63.75e-3, 64.0e-3)
    'rework'
    >>> disposition(24.85e-3, 25e-3, 24.9e-3)
    'replace'
    """
    slack = 1e-9
    if wear_used.si(measured, new, reuse_limit) <= 1.0 + slack:
        return "reuse"
    if rework_limit is not None and wear_used.si(measured, new, rework_limit) <= 1.0 + slack:
        return "rework"
    return "replace"
