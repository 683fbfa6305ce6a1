"""Refuse what no pump can have: a length below zero, a share above one, a figure not a number."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import Any

import numpy as np


def positive(name: str, value: Any) -> Any:
    """Give ``value`` (float or array) back if it is finite and above zero.

    >>> positive("grip", 0.0)
    Traceback (most recent call last):
    ...
    ValueError: grip is 0; it must be above zero
    """
    if type(value) is float:  # tens of thousands of these a worksheet; numpy takes 20 times as long
        good = 0.0 < value < math.inf
    else:
        good = bool(np.all(np.isfinite(value) & np.greater(value, 0.0)))
    if not good:
        raise ValueError(f"{name} is {_worst(value)}; it must be above zero")
    return value


def not_negative(name: str, value: Any) -> Any:
    """Give ``value`` (float or array) back if it is finite and zero or above."""
    if type(value) is float:
        good = 0.0 <= value < math.inf
    else:
        good = bool(np.all(np.isfinite(value) & np.greater_equal(value, 0.0)))
    if not good:
        raise ValueError(f"{name} is {_worst(value)}; it must be zero or above")
    return value


def within(name: str, value: Any, low: float, high: float) -> Any:
    """Give ``value`` (float or array) back if it lies from ``low`` to ``high``.

    >>> within("relaxation", 1.2, 0.0, 1.0)
    Traceback (most recent call last):
    ...
    ValueError: relaxation is 1.2; it must lie from 0 to 1
    """
    if type(value) is float:
        good = low <= value <= high
    else:
        good = bool(np.all(np.greater_equal(value, low) & np.less_equal(value, high)))
    if not good:
        beyond = np.max(value) if np.max(value) > high else np.min(value)
        raise ValueError(f"{name} is {beyond:g}; it must lie from {low:g} to {high:g}")
    return value


def pass_fractions(fractions: Sequence[float]) -> None:
    """Refuse pass fractions that do not rise to 1; raises ValueError saying which rule."""
    given = ", ".join(f"{fraction:g}" for fraction in fractions) or "none"
    if not all(0.0 < fraction <= 1.0 for fraction in fractions):
        raise ValueError(f"pass fractions {given}: each must lie above 0 and not above 1 (100 %)")
    if any(later <= earlier for earlier, later in itertools.pairwise(fractions)):
        raise ValueError(f"pass fractions {given}: each must be larger than the one before")
    if not fractions or fractions[-1] != 1.0:
        raise ValueError(f"pass fractions {given}: the last must be 1 (100 %)")


def _worst(value: Any) -> str:
    """Name the value at fault: what is no number first, then the smallest."""
    bare = np.asarray(value, dtype=float)
    odd = bare[~np.isfinite(bare)]
    return f"{(odd[0] if odd.size else np.min(bare)):g}"
