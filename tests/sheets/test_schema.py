"""The exported schemas are those of the sheets, and the demo passes them."""

import json
from pathlib import Path

import jsonschema
import pytest
from ruamel.yaml import YAML

from rebuildbook.sheets.schema import schemas

PARAMETERS = Path(__file__).resolve().parents[2] / "parameters"
# readings have no schema: they are checked against their job as they are read
SHEETS = [path for path in sorted(PARAMETERS.rglob("*.yaml")) if path.parent.name != "readings"]


@pytest.mark.parametrize("kind", ["model", "job", "shop"])
def test_the_exported_schema_is_up_to_date(kind):
    exported = json.loads((PARAMETERS / "schema" / f"{kind}.json").read_text(encoding="utf-8"))
    assert exported == schemas()[kind], "run: python -m rebuildbook.sheets.schema parameters/schema"


@pytest.mark.parametrize("path", SHEETS, ids=lambda p: p.stem)
def test_every_demo_sheet_passes_the_schema_it_names(path):
    text = path.read_text(encoding="utf-8")
    hint = text.splitlines()[0]
    schema = (path.parent / hint.split("$schema=")[1]).resolve()
    data = json.loads(json.dumps(YAML(typ="safe").load(text), default=str))
    jsonschema.validate(data, json.loads(schema.read_text(encoding="utf-8")))
