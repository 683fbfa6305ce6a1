"""Load what a worksheet needs, so that processes forked afterwards begin with it."""

from __future__ import annotations

from nbformat import v4

from rebuildbook.worksheet import paper  # noqa: F401  (loaded for those that are forked)
from rebuildbook.worksheet.build import open_worksheet
from rebuildbook.worksheet.document import results_of
from rebuildbook.worksheet.html import page_html


def warm(card: str = "") -> None:
    """Import every section and renderer; with a ``card``, make its sections and page once.

    What the first worksheet of a process has to find out, all others find known: fonts and the
    room that words take, units, formulas, templates, the sheets that jobs have in common. Nothing
    is set as paper: that begins threads, which a fork would leave behind.
    """
    shown = []
    if card:
        worksheet = open_worksheet(card)
        shown = [worksheet.show(name)._repr_mimebundle_() for name in worksheet.sections]
    outputs = [v4.new_output("display_data", data=data) for data in shown]  # type: ignore[no-untyped-call]
    notebook = v4.new_notebook(cells=[v4.new_code_cell(outputs=outputs)])  # type: ignore[no-untyped-call]
    page_html(notebook)
    results_of(notebook)
