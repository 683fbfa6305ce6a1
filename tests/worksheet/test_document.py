"""Section documents and the results file: complete, described, and true to SI."""

import copy
import importlib.util
import json
from pathlib import Path

import jsonschema
import nbformat
import pytest

from rebuildbook.units import DIMENSIONS, parse_amount
from rebuildbook.worksheet.document import (
    SCHEMA_VERSION,
    SECTION_MIME,
    plain_text,
    printable,
    results_of,
    section_document,
    sections_of,
    show_section,
)
from rebuildbook.worksheet.results_schema import results_schema, write_results_schema

ROOT = Path(__file__).resolve().parents[2]
_SPEC = importlib.util.spec_from_file_location("hostile", Path(__file__).parent / "hostile.py")
hostile = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(hostile)


def values_of(results):
    for section in results["sections"]:
        for line in section["lines"]:
            yield from line["inputs"].values()
            if "value" in line:
                yield line["value"]


def test_a_demo_job_s_results_follow_the_schema(demo):
    results = results_of(demo)
    jsonschema.Draft202012Validator(results_schema()).validate(results)
    assert results["schema"] == SCHEMA_VERSION
    assert len(list(values_of(results))) > 100
    assert json.loads(json.dumps(results)) == results


def test_value_si_and_unit_say_the_same(demo):
    for value in values_of(results_of(demo)):
        assert value["si_unit"] == DIMENSIONS[value["dimension"]].si
        unit = value["unit"] or ""
        if value["dimension"] == "temperature":
            scale = {"degC": (1.0, 273.15), "degF": (5 / 9, 459.67 * 5 / 9)}
            factor, offset = scale.get(unit, (1.0, 0.0))
            expected = value["value"] * factor + offset
        elif value["dimension"] == "number":
            expected = value["value"]
        else:
            one = parse_amount(f"1 {unit}", value["dimension"]).nominal
            expected = value["value"] * one
        assert value["si"] == pytest.approx(expected, rel=1e-12, abs=1e-12), value


def test_the_schema_describes_every_field_and_is_written_up_to_date(tmp_path):
    schema = results_schema()
    jsonschema.Draft202012Validator.check_schema(schema)

    def described(node):
        for field in node.get("properties", {}).values():
            assert "description" in field or "$ref" in field, field
            described(field)

    for node in (schema, *schema["$defs"].values()):
        assert node["description"]
        described(node)
    written = write_results_schema(tmp_path).read_text(encoding="utf-8")
    kept = ROOT / "parameters" / "schema" / "results.json"
    assert kept.read_text(encoding="utf-8") == written


def test_the_schema_refuses_a_line_with_both_value_and_text_or_neither():
    results = results_of(hostile.notebook(["plain", "plain"]))
    check = jsonschema.Draft202012Validator(results_schema())
    check.validate(results)
    both, neither, level = (copy.deepcopy(results) for _ in range(3))
    both["sections"][0]["lines"][0]["text"] = "words"
    del neither["sections"][0]["lines"][0]["value"]
    level["sections"][0]["findings"][0]["level"] = "perhaps"
    for wrong in (both, neither, level):
        assert not check.is_valid(wrong)


def test_results_keep_texts_as_they_were_and_leave_out_the_summary():
    texts = ("summary", *hostile.TEXTS)
    results = results_of(hostile.notebook(texts))
    assert [section["title"] for section in results["sections"]] == list(hostile.TEXTS)
    for section, text in zip(results["sections"], hostile.TEXTS, strict=True):
        assert [line["name"] for line in section["lines"]] == [text] * 3
        assert section["lines"][2]["text"] == text
        assert section["findings"][0]["action"] == text
    assert results["job"] == "summary"
    assert results["made"] == "2026-09-08T06:00:00+00:00"


def test_the_digest_follows_the_results_and_nothing_else():
    before = hostile.notebook(["plain", "plain"])
    later = copy.deepcopy(before)
    later.metadata["rebuildbook"]["made"] = "2027-01-01T00:00:00+00:00"
    assert results_of(later)["digest"] == results_of(before)["digest"]
    changed = copy.deepcopy(before)
    section = changed.cells[2].outputs[0].data[SECTION_MIME]
    section["blocks"][3]["lines"][0]["value"]["si"] += 1.0
    assert results_of(changed)["digest"] != results_of(before)["digest"]


def test_a_shown_section_carries_its_document_html_and_plain_text():
    bundle = show_section(hostile.section("plain"), {"job": "J"})._repr_mimebundle_()
    document = section_document(hostile.section("plain"), {"job": "J"})
    assert bundle[SECTION_MIME] == document
    assert bundle["text/plain"] == plain_text(document)
    assert "[HOLD] plain: plain" in bundle["text/plain"]
    assert "  plain: 2000 Pa" in bundle["text/plain"]
    assert "plain | " in bundle["text/plain"]


def test_a_notebook_without_sections_has_empty_results():
    book = nbformat.v4.new_notebook()
    assert list(sections_of(book)) == []
    results = results_of(book)
    assert results["sections"] == []
    jsonschema.validate(results, results_schema())


def test_printable_drops_colours_and_control_characters():
    assert printable("\x1b[1;31mred\x1b[0m\x07\tone\n\u00e9") == "red\tone\n\u00e9"
