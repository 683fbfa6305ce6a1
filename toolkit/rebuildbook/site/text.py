"""The written pages: Markdown with what they take from README, DEVELOPERS and the examples."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from importlib import resources
from pathlib import Path
from typing import Any

import jinja2
from markupsafe import Markup

# where the links of README and DEVELOPERS lead on the site
LINKS = {
    "DEVELOPERS.md": "contributing.md",
    "README.md": "index.md",
    "parameters/schema/results.json": "file-results.md",
    "outputs/sample/first-page.png": "first-page.png",
    "outputs/sample/": "sample.html",
}
_HEADING = re.compile(r"^(#{1,6}) +(.+?)\s*$", re.MULTILINE)
_FENCED = re.compile(r"^```.*?^```$", re.MULTILINE | re.DOTALL)


def part_of(text: str, heading: str) -> str:
    """Give what stands below a heading, up to the next one; LookupError where there is none.

    >>> part_of("# A\\nfirst\\n## B\\nsecond\\n", "A")
    'first'
    """
    blank = _FENCED.sub(lambda found: re.sub(r"[^\n]", " ", found[0]), text)
    marks = list(_HEADING.finditer(blank))
    for mark, following in zip(marks, [*marks[1:], None], strict=True):
        if mark[2] == heading:
            end = following.start() if following else len(text)
            return text[mark.end() : end].strip()
    raise LookupError(f"no heading {heading!r}")


def taken_over(text: str) -> str:
    """Set text of the README for a page: its marks for the tests go, its links lead to pages.

    >>> taken_over("<!-- tour -->\\nsee [it](DEVELOPERS.md)")
    'see [it](contributing.md)'
    """
    plain = re.sub(r"<!-- \w+ -->\n", "", text)
    return re.sub(r"\]\(([^)#:]+)\)", lambda found: f"]({LINKS.get(found[1], found[1])})", plain)


class Pages:
    """The templates and written pages, filled in with what is gathered."""

    def __init__(self, checkout: Path) -> None:
        self._checkout = checkout
        self._environment = jinja2.Environment(
            loader=jinja2.PackageLoader("rebuildbook.site", "."),
            autoescape=jinja2.select_autoescape(["j2"]),  # the written pages are Markdown
            trim_blocks=True,
            lstrip_blocks=True,
            keep_trailing_newline=True,
            undefined=jinja2.StrictUndefined,
        )
        given: Mapping[str, Callable[..., str]] = {
            "readme": self._readme,
            "developers": self._developers,
            "example": example,
        }
        self._environment.globals.update(given)
        self._environment.filters["code"] = in_code

    def filled(self, template: str, **values: Any) -> str:
        """Give a page as Markdown."""
        return self._environment.get_template(template).render(values)

    def _readme(self, heading: str, *, without: str = "") -> str:
        text = part_of((self._checkout / "README.md").read_text(encoding="utf-8"), heading)
        if without:
            text = re.sub(rf"^{re.escape(without)}\n.*?^```$\n", "", text, count=1,
                          flags=re.MULTILINE | re.DOTALL)  # fmt: skip
        return taken_over(text)

    def _developers(self) -> str:
        text = (self._checkout / "DEVELOPERS.md").read_text(encoding="utf-8")
        return taken_over(text)


def example(name: str) -> str:
    """Give one of the example sheets."""
    folder = resources.files("rebuildbook.site") / "examples"
    return (folder / name).read_text(encoding="utf-8").strip()


def in_code(text: str) -> Markup:
    """Set words with names between backticks."""
    from rebuildbook.site.calculators import coded  # noqa: PLC0415  (loads every calculator)

    return coded(text)
