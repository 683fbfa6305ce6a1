"""Build the site: gather, fill in the pages, set them with mkdocs, add the search, put in place."""

from __future__ import annotations

import logging
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from rebuildbook.batch.publish import staging
from rebuildbook.site.pages import Page, Source, pages_of
from rebuildbook.site.search import write_index

MARK = "search-index.js"  # every site has it; a folder without it is not replaced
_NEEDED = ("README.md", "DEVELOPERS.md", "parameters/jobs", "parameters/models", "outputs/sample")
_ASSETS = {
    "outputs/sample/first-page.png": "first-page.png",
    "outputs/sample/worksheet.html": "sample.html",
}
_LOGGERS = ("mkdocs", "MARKDOWN")


class SiteProblem(Exception):  # noqa: N818  (an answer to the one who builds)
    """The site was not built; the text says why."""


def build_site(checkout: Path, out: Path, program: Any) -> int:
    """Build the site of a checkout into ``out``, whole or not at all; gives the number of pages.

    ``program`` is the command line to describe. A folder that is no site is not replaced. Raises
    SiteProblem, also for anything that mkdocs warns of.
    """
    missing = [name for name in _NEEDED if not (checkout / name).exists()]
    if missing:
        raise SiteProblem(
            f"{checkout}: has no {missing[0]}; the site is made from a checkout of the toolkit"
        )
    _check_place(out)
    with tempfile.TemporaryDirectory(prefix="rebuildbook-") as scratch:
        written, made = Path(scratch) / "pages", Path(scratch) / "site"
        written.mkdir()
        pages = list(pages_of(Source(checkout, program)))
        for page in pages:
            (written / page.file).write_text(page.text, encoding="utf-8")
        for name, to in _ASSETS.items():
            shutil.copyfile(checkout / name, written / to)
        set_pages(written, made, pages)
        write_index(made, [page.file.removesuffix(".md") + ".html" for page in pages])
        _put(made, out)
    return len(pages)


def _check_place(out: Path) -> None:
    if out.is_dir() and any(out.iterdir()) and not (out / MARK).is_file():
        raise SiteProblem(f"{out}: is not empty and no site; give another --out")
    if out.exists() and not out.is_dir():
        raise SiteProblem(f"{out}: is not a folder")


def _put(made: Path, out: Path) -> None:
    place = out.absolute()
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        with staging(place.parent, place.name) as staged:
            shutil.copytree(made, staged, dirs_exist_ok=True)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise SiteProblem(f"{out}: cannot be written: {reason}") from None


def set_pages(written: Path, made: Path, pages: list[Page]) -> None:
    """Let mkdocs set the pages; its warnings become the problem."""
    from mkdocs.commands.build import build  # noqa: PLC0415  (the extra; said by the command)
    from mkdocs.config import load_config  # noqa: PLC0415
    from mkdocs.exceptions import MkDocsException  # noqa: PLC0415

    heard = _Heard()
    for name in _LOGGERS:
        logging.getLogger(name).addHandler(heard)
    try:
        build(
            load_config(
                str(Path(__file__).with_name("mkdocs.yml")),
                docs_dir=str(written),
                site_dir=str(made),
                nav=_nav(pages),
            )
        )
    except (MkDocsException, SystemExit) as stopped:
        raise SiteProblem("; ".join(heard.said) or str(stopped)) from None
    finally:
        for name in _LOGGERS:
            logging.getLogger(name).removeHandler(heard)
    if heard.said:
        raise SiteProblem("; ".join(heard.said))
    for spare in ("sitemap.xml", "sitemap.xml.gz"):  # a folder on a disk has no address to list
        (made / spare).unlink(missing_ok=True)


class _Heard(logging.Handler):
    """Keeps what was warned of."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.said: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.said.append(record.getMessage())


def _nav(pages: list[Page]) -> list[dict[str, Any]]:
    """The pages as mkdocs wants them: those of a group below its first page."""
    nav: list[dict[str, Any]] = []
    for page in pages:
        if not page.group:
            nav.append({page.title: page.file})
        elif nav and page.group in nav[-1]:
            nav[-1][page.group].append({page.title: page.file})
        else:
            nav.append({page.group: [{page.title: page.file}]})
    return nav


def checkouts() -> Iterator[Path]:
    """Where a checkout may be: here, else where the package is read from."""
    yield Path.cwd()
    yield Path(__file__).resolve().parents[3]


def nearest_checkout() -> Path:
    """The first of them that is one, else here."""
    found = (one for one in checkouts() if (one / "toolkit" / "rebuildbook").is_dir())
    return next(found, Path.cwd())
