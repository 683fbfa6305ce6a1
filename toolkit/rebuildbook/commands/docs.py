"""``rebuildbook docs``: the documentation site."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from typing import Any

from rebuildbook.commands import Refused


def make_docs(out: Path, program: Any) -> str:
    """Build the site and give the line that says so; ``program`` is the command line itself.

    Raises Refused where the extra is missing, and for a site that cannot be built.
    """
    if importlib.util.find_spec("mkdocs") is None:
        raise Refused(
            "the pages are set with mkdocs, which is not installed; "
            "it comes with the extra docs: pip install -e '.[docs]'"
        )
    from rebuildbook.site.build import (  # noqa: PLC0415  (not before mkdocs is known to be there)
        SiteProblem,
        build_site,
        nearest_checkout,
    )

    try:
        pages = build_site(nearest_checkout(), out, program)
    except SiteProblem as problem:
        raise Refused(str(problem)) from None
    return f"{pages} pages in {out}; open {out / 'index.html'}"
