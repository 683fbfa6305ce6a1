"""Two worked demo cards, shown in a notebook as a run would show them."""

from pathlib import Path

import nbformat
import pytest

from rebuildbook.worksheet.build import open_worksheet
from rebuildbook.worksheet.document import SECTION_MIME

JOBS = Path(__file__).resolve().parents[2] / "parameters" / "jobs"


@pytest.fixture(scope="session", params=["TW-2601", "TW-2607"])
def demo(request):
    worksheet = open_worksheet(JOBS / f"{request.param}.yaml")
    made = nbformat.v4.new_notebook()
    made.metadata["rebuildbook"] = {"made": "2026-09-08T06:00:00+00:00", "version": "0.1.0"}
    for name in worksheet.sections:
        data = worksheet.show(name)._repr_mimebundle_()
        assert SECTION_MIME in data
        output = nbformat.v4.new_output("display_data", data)
        made.cells.append(nbformat.v4.new_code_cell("show()", outputs=[output]))
    return made
