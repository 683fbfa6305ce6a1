"""Judgements on O-rings: the gland, the gap, what the ring takes of its joint's clamp."""

from __future__ import annotations

from collections.abc import Iterator

from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import Finding, Level, Value
from rebuildbook.worksheet.seal_rings import RingFit, Squeezed
from rebuildbook.worksheet.service_findings import WANTED

_STANDARD = "public table of gland dimensions, read; ISO 3601-2 practice, from memory"
_MEASURE = "Measure ring and groove; check the ring's size with the maker."


def ring_findings(context: Context, fit: RingFit) -> Iterator[Finding]:
    """Judge one kind of O-ring."""
    yield _gland(fit)
    if fit.gap is not None:
        yield _gap(context, fit)
    if fit.squeezed is not None and fit.squeezed.left > 0.0:
        yield _clamp(context, fit, fit.squeezed)


def wrong_ring(context: Context, name: str, why: str) -> Finding:
    """A ring that cannot lie in its gland at all."""
    return Finding(
        f"seals.{name}.gland",
        "hold",
        f"{name}: wrong gland",
        why,
        "",
        _MEASURE,
        f"geometry; {context.source('model', f'seals.{name}')}",
    )


def _gland(fit: RingFit) -> Finding:
    grave = {remark.severity for remark in fit.remarks}
    level: Level = "hold" if "hold" in grave else "query" if grave else "clear"
    fitted = fit.fitted
    words = {"clear": "fits its gland", "query": "out of range in its gland", "hold": "wrong gland"}
    squeeze = [Value(share, "fraction", "%").shown for share in _ends(fit)]
    fill = Value(max(fitted.fill.high, fit.hot.fill.high), "fraction", "%").shown
    sources = "; ".join(dict.fromkeys(remark.source for remark in fit.remarks))
    return Finding(
        f"seals.{fit.name}.gland",
        level,
        f"{fit.name}: {words[level]}",
        "; ".join(remark.text for remark in fit.remarks)
        or f"squeeze {squeeze[0]} to {squeeze[1]}, fill up to {fill} in a {fitted.use} gland",
        "",
        "" if level == "clear" else _MEASURE,
        sources or _STANDARD,
    )


def _ends(fit: RingFit) -> tuple[float, float]:
    return fit.fitted.squeeze_share.low, fit.fitted.squeeze_share.high


def _gap(context: Context, fit: RingFit) -> Finding:
    gap = fit.gap
    assert gap is not None  # noqa: S101
    level: Level = {"holds": "clear", "back-up ring": "query"}.get(gap.verdict, "hold")  # type: ignore[assignment]
    words = {
        "clear": "gap narrow enough",
        "query": "gap wants a back-up ring",
        "hold": "gap too wide: the ring may be pushed out",
    }[level]
    action = {
        "clear": "",
        "query": "Fit a back-up ring on the side away from the pressure, if the groove takes one.",
        "hold": "Do not pressurise. Renew what has worn, or ask the maker for a closer part.",
    }[level]
    allowed = gap.allowed_backed if fit.seal.backed or level == "hold" else gap.allowed
    return Finding(
        f"seals.{fit.name}.gap",
        level,
        f"{fit.name}: {words}",
        gap.text,
        context.value(allowed - gap.working, "length", 2).shown,
        action,
        "; ".join(gap.sources),
    )


def _clamp(context: Context, fit: RingFit, load: Squeezed) -> Finding:
    ratio = load.left / load.each
    level: Level = "clear" if ratio >= WANTED else "query" if load.clamp > load.each else "hold"
    words = {
        "clear": "clamp closes the faces on the ring",
        "query": "ring takes most of the clamp that is left",
        "hold": "torque does not close the faces on the ring",
    }[level]
    return Finding(
        f"seals.{fit.name}.clamp",
        level,
        f"{fit.name}: {words}",
        f"ring takes {context.value(load.each, 'force').shown} of each fastener of "
        f"{fit.seal.joint}; least clamp left under pressure "
        f"{context.value(load.left, 'force').shown}",
        f"{ratio:.1f} times",
        ""
        if level == "clear"
        else "Check ring and window against the maker's sheet; a gaping face lets the ring out.",
        f"Lindley 1967, from memory; {WANTED:g} times: judgement of this toolkit",
    )
