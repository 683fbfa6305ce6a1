"""The JSON Schema of ``results.json``, each field described with its unit.

``python -m rebuildbook.worksheet.results_schema parameters/schema`` writes ``results.json`` there.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from rebuildbook.units import DIMENSIONS
from rebuildbook.worksheet.document import SCHEMA_VERSION
from rebuildbook.worksheet.model import LEVELS

Schema = dict[str, Any]


def _text(description: str, **more: object) -> Schema:
    return {"type": "string", "description": description, **more}


def _object(description: str, fields: Schema, optional: tuple[str, ...] = ()) -> Schema:
    return {
        "type": "object",
        "description": description,
        "properties": fields,
        "required": [name for name in fields if name not in optional],
        "additionalProperties": False,
    }


def _array(description: str, kind: str) -> Schema:
    return {"type": "array", "description": description, "items": {"$ref": f"#/$defs/{kind}"}}


def _value() -> Schema:
    si_units = sorted({kind.si for kind in DIMENSIONS.values()})
    return _object(
        "A number with its unit, in the shop's unit and in SI. Pressures are gauge unless the "
        "dimension says otherwise; temperatures in SI are absolute, in kelvin.",
        {
            "value": {"type": "number", "description": "The number in `unit`, 15 figures."},
            "unit": _text("The unit the shop reads it in, as the sheets write units ('ft*lbf')."),
            "si": {"type": "number", "description": "The number in `si_unit`, 15 figures."},
            "si_unit": _text(
                "The SI unit of the dimension; empty for a plain number or share.", enum=si_units
            ),
            "dimension": _text("The kind of quantity.", enum=sorted(DIMENSIONS)),
            "shown": _text("The value as the worksheet shows it, rounded, with its unit."),
            "brief": _text("The value as it stands inside a formula: up to five figures."),
            "other": _text("The value in the other unit system; empty where both share the unit."),
        },
    )


def _line() -> Schema:
    made = _object(
        "One given or computed result: a number (`value`) or words (`text`), and where it is from.",
        {
            "id": _text("Stable name: section, part and quantity, joined by dots."),
            "name": _text("What it is, in the words of the worksheet."),
            "symbol": _text("Its symbol, as 'p_w'; may be empty."),
            "formula": _text(
                "Arithmetic over the symbols of `inputs`, as Python writes it; with their SI "
                "numbers it gives `value.si`. Empty for a given value."
            ),
            "inputs": {
                "type": "object",
                "description": "Each symbol of the formula with its value.",
                "additionalProperties": {"$ref": "#/$defs/value"},
            },
            "method": _text("The method or published source of the formula."),
            "data": _text("The sheet, field or table that the numbers come from."),
            "value": {"$ref": "#/$defs/value"},
            "text": _text("The result where it is words, as an order of tightening."),
        },
        optional=("value", "text"),
    )
    return {**made, "oneOf": [{"required": ["value"]}, {"required": ["text"]}]}


def _finding() -> Schema:
    return _object(
        "One judgement.",
        {
            "id": _text("Stable name: section, part and what is judged, joined by dots."),
            "level": _text(
                "'hold': stop until settled; 'query': ask before going on; 'clear': in order.",
                enum=list(LEVELS),
            ),
            "title": _text("What is judged."),
            "compared": _text("The values compared, with their units."),
            "margin": _text("How far from the limit, with its unit; may be empty."),
            "action": _text("What to do; may be empty for a clear finding."),
            "source": _text("What the judgement rests on."),
        },
    )


def _section() -> Schema:
    return _object(
        "One part of the worksheet.",
        {
            "id": _text("Stable name of the section."),
            "title": _text("Its title."),
            "lines": _array("Every line, in order.", "line"),
            "findings": _array("Every finding that the section makes, in order.", "finding"),
        },
    )


def results_schema() -> Schema:
    """Give the schema of the results document (see ``document.results_of``)."""
    whole = _object(
        "Every line and finding of one worksheet, with values in the shop's units and in SI.",
        {
            "schema": {"const": SCHEMA_VERSION, "description": "Version of this schema."},
            "job": _text("Job number."),
            "serial": _text("Serial number of the unit."),
            "model": _text("Title of the model sheet."),
            "shop": _text("Title of the shop sheet."),
            "date": _text("Day of the work (ISO 8601), else the day the job was opened."),
            "inputs": _text("Starts of the SHA-256 of the job, model and shop sheets."),
            "made": _text("When the worksheet was made (ISO 8601, UTC); not in the digest."),
            "version": _text("Version of rebuildbook that made it; not in the digest."),
            "digest": _text(
                "SHA-256 of `sections`; equal digests mean equal results.",
                pattern="^[0-9a-f]{64}$",
            ),
            "sections": _array("The sections, in the order of the worksheet.", "section"),
        },
    )
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Results of a rebuild worksheet",
        **whole,
        "$defs": {
            "section": _section(),
            "line": _line(),
            "finding": _finding(),
            "value": _value(),
        },
    }


def write_results_schema(folder: Path) -> Path:
    """Write ``results.json`` into a folder; gives the file."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / "results.json"
    text = json.dumps(results_schema(), indent=1, ensure_ascii=False) + "\n"
    path.write_text(text, encoding="utf-8")
    return path


if __name__ == "__main__":
    write_results_schema(Path(sys.argv[1]))
