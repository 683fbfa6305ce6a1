"""Export the JSON Schemas that editors complete and check sheets with.

``python -m rebuildbook.sheets.schema parameters/schema`` writes one file for each kind of sheet.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from rebuildbook.sheets.load import KINDS


def schemas() -> dict[str, dict[str, Any]]:
    """Give the schema of each kind of sheet."""
    made = {}
    for kind, model in KINDS.items():
        schema = model.model_json_schema()
        made[kind] = {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
    return made


def write_schemas(folder: Path) -> list[Path]:
    """Write one ``<kind>.json`` for each kind of sheet; gives the files."""
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for kind, schema in schemas().items():
        path = folder / f"{kind}.json"
        text = json.dumps(schema, indent=1, ensure_ascii=False) + "\n"
        path.write_text(text, encoding="utf-8")
        written.append(path)
    return written


if __name__ == "__main__":
    write_schemas(Path(sys.argv[1]))
