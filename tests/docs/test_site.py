"""The built site: whole, closed in itself, and saying of every field and formula what it is."""

import importlib
import inspect
import json
import pkgutil
import re
from html import escape, unescape
from pathlib import Path
from urllib.parse import unquote, urlsplit
from xml.etree import ElementTree

import pytest

import rebuildbook.calculators
from rebuildbook.units import Formula
from rebuildbook.worksheet.build import open_worksheet
from rebuildbook.worksheet.formula import set_formula

ROOT = Path(__file__).resolve().parents[2]
SCHEMAS = sorted((ROOT / "parameters" / "schema").glob("*.json"))
# an air-driven piston pump, a crank-driven one, and a diaphragm pump
CARDS = ("TW-2601", "TW-2605", "TW-2607")
# what a page may name that is not asked for when it opens
ASKING = {"src", "href", "srcset", "poster", "action", "data", "background", "formaction"}


def test_it_is_built_without_a_warning_and_without_a_network(site):
    assert site.ended.stderr == ""
    assert site.ended.stdout.startswith(f"{len(site.pages) - 1} pages in ")  # and the sample


def test_every_link_leads_somewhere(site):
    dead = []
    for name, page in site.pages.items():
        for tag in page.tags:
            for attribute in ASKING & tag.attributes.keys():
                address = urlsplit(tag.attributes[attribute])
                if address.scheme:
                    continue  # the next test
                target = unquote(address.path) or name
                there = (site.folder / target).is_file()
                if address.fragment and there and target.endswith(".html"):
                    there = unquote(address.fragment) in site.pages[target].anchors
                if not there:
                    dead.append((name, tag.attributes[attribute]))
    assert not dead


def test_every_page_can_be_reached_from_the_first(site):
    seen, left = set(), ["index.html"]
    while left:
        name = left.pop()
        if name in seen:
            continue
        seen.add(name)
        links = [tag.attributes.get("href", "") for tag in site.pages[name].tags if tag.name == "a"]
        left += [urlsplit(link).path or name for link in links]
    assert seen == set(site.pages)


def test_nothing_outside_is_asked_for(site):
    asked = []
    for name, page in site.pages.items():
        for tag in page.tags:
            for attribute in ASKING & tag.attributes.keys():
                address = urlsplit(tag.attributes[attribute])
                if address.scheme or address.netloc or address.path.startswith("/"):
                    asked.append((name, tag.name, tag.attributes[attribute]))
        styles = re.findall(r"url\(\s*['\"]?([^)'\"]*)|@import\s+(\S+)", page.text)
        asked += [(name, *one) for one in styles if not one[0].startswith(("data:", "#"))]
    assert not asked
    style = (site.folder / "site.css").read_text(encoding="utf-8")
    assert not re.search(r"url\(|@import|@font-face", style)
    script = (site.folder / "search.js").read_text(encoding="utf-8")
    assert not re.search(r"https?:|fetch\(|XMLHttp|WebSocket|import\(|sendBeacon", script)
    others = {path.suffix for path in site.folder.rglob("*") if path.is_file()}
    assert others == {".html", ".css", ".js", ".png"}


def paths_in(schema, groups, path=""):
    """Every dotted path of a schema, by a walk of the test's own."""
    if "$ref" in schema:
        schema = groups[schema["$ref"].removeprefix("#/$defs/")]
    for kind in (*schema.get("anyOf", ()), *schema.get("oneOf", ())):
        if kind.keys() != {"required"}:
            yield from paths_in(kind, groups, path)
    for name, field in schema.get("properties", {}).items():
        yield f"{path}{name}"
        yield from paths_in(field, groups, f"{path}{name}.")
    if isinstance(schema.get("additionalProperties"), dict):
        yield from paths_in(schema["additionalProperties"], groups, f"{path}<name>.")
    if "items" in schema:
        yield from paths_in(schema["items"], groups, f"{path.removesuffix('.')}[].")


@pytest.mark.parametrize("schema", SCHEMAS, ids=lambda path: path.stem)
def test_every_field_stands_in_the_file_reference(site, schema):
    page = site.pages[f"file-{schema.stem}.html"].text
    told = re.findall(r"<dt[^>]*><code>(.*?)</code>", page)
    document = json.loads(schema.read_text(encoding="utf-8"))
    wanted = set(paths_in(document, document.get("$defs", {})))
    assert wanted == {unescape(path) for path in told}
    entries = re.findall(
        r"<dt.*?>(required|may be left out)</b></dt>\n<dd>(.*?)</dd>", page, re.DOTALL
    )
    assert len(entries) == len(told)
    for _, words in entries:
        meaning, form = re.fullmatch(
            r'(.+) <span class="form">(.+)</span>', words.strip(), re.DOTALL
        ).groups()
        # every field has an example, but for those that only hold others
        assert meaning.strip(), words
        assert "<code" in form or re.search("fields below|each the |Yes or no", form), form


def test_what_has_to_be_given_is_what_the_schema_wants(site):
    page = site.pages["file-job.html"].text
    needs = dict(
        re.findall(
            r"<dt[^>]*><code>([^<]*)</code>.*?>(required|may be left out)</b>", page, re.DOTALL
        )
    )
    wanted = json.loads((ROOT / "parameters/schema/job.json").read_text("utf-8"))["required"]
    top = {name for name in needs if not re.search(r"[.\[&]", name)}
    assert {name for name in top if needs[name] == "required"} == set(wanted)


def test_no_meaning_is_left_over(site):
    from rebuildbook.sheets.part import Part
    from rebuildbook.site.fields import meanings

    def below(part):
        return {part.__name__: part} | {k: v for one in part.__subclasses__()
                                        if one.__module__.startswith("rebuildbook.")
                                        for k, v in below(one).items()}  # fmt: skip

    models = below(Part)
    for name, fields in meanings().items():
        for field in fields:
            assert models[name].model_fields[field].description is None, (name, field)
            assert field in models[name].__annotations__, (name, field)


def test_the_examples_are_taken_by_the_sheets():
    from pydantic import ValidationError
    from ruamel.yaml import YAML

    from rebuildbook.sheets.load import KINDS, load_sheet

    folder = ROOT / "toolkit/rebuildbook/site/examples"
    for kind in ("columns", "what-if"):
        assert load_sheet(folder / f"{kind}.yaml").kind == kind
    pieces = YAML(typ="safe").load((folder / "more.yaml").read_text(encoding="utf-8"))
    for kind in KINDS.keys() & pieces.keys():
        for piece in pieces[kind]:
            with pytest.raises(ValidationError) as caught:
                KINDS[kind].model_validate(piece)
            wrong = [one for one in caught.value.errors() if one["type"] != "missing"]
            assert not wrong


@pytest.mark.parametrize("card", CARDS)
def test_every_formula_of_a_worksheet_stands_there_with_its_source(site, card):
    worksheet = open_worksheet(ROOT / "parameters" / "jobs" / f"{card}.yaml")
    checked = 0
    for section in worksheet.sections.values():
        for line in section.lines():
            if not line.formula:
                continue
            page = site.pages[f"formulas-{section.id}.html"].text
            assert f"{set_formula(line.formula, 'mathml')}</math>" in page, line.id
            assert str(escape(line.name)).replace("&#x27;", "&#39;") in page, line.id
            assert str(escape(line.method)).replace("&#x27;", "&#39;") in page, line.id
            checked += 1
    assert checked > 100


def test_the_maths_is_well_formed(site):
    count = 0
    for page in site.pages.values():
        for found in re.findall(r"<math>.*?</math>", page.text, re.DOTALL):
            ElementTree.fromstring(found)  # noqa: S314  (our own page)
            count += 1
    assert count > 500


def test_every_formula_of_the_calculators_stands_there_with_units_and_example(site):
    count = 0
    for found in pkgutil.iter_modules(rebuildbook.calculators.__path__):
        module = importlib.import_module(f"rebuildbook.calculators.{found.name}")
        page = site.pages[f"calculator-{found.name.replace('_', '-')}.html"]
        examples = "\n".join(text for language, text in page.code if "pycon" in language)
        for name, formula in vars(module).items():
            public = isinstance(formula, Formula) and not name.startswith("_")
            if not public or formula.__module__ != module.__name__:
                continue
            part = page.text.partition(f'<h2 id="{name}">')[2].partition("<h2 ")[0]
            assert part, name
            for parameter in formula.units:
                assert f"<code>{parameter}</code>" in part, (name, parameter)
            first = re.search(r">>> (.*)", inspect.getdoc(formula.si) or "")
            assert first is None or first[1] in examples, name
            count += 1
    assert count > 100


def test_every_block_on_a_page_is_run_somewhere(site, blocks):
    """Blocks of the written texts are run by test_blocks, examples of docstrings as doctests."""
    from rebuildbook.site.text import example

    written = {block.text for block in blocks}
    written.add(example("what-if.yaml") + "\n")
    docstrings = "\n".join(
        path.read_text(encoding="utf-8").replace("\\\\", "\\")
        for path in (ROOT / "toolkit/rebuildbook/calculators").glob("*.py")
    )
    for name, page in site.pages.items():
        for language, text in page.code:
            if "pycon" in language:
                lines = [line for line in text.splitlines() if line.startswith(">>> ")]
                assert lines, (name, text)
                assert all(line in docstrings for line in lines), (name, text)
            elif name.startswith("calculator-"):
                module = re.fullmatch(r"from rebuildbook.calculators import (\w+)\n", text)[1]
                importlib.import_module(f"rebuildbook.calculators.{module}")
            elif "usage" not in language:
                assert text in written, (name, text)


def test_the_commands_are_those_of_the_program(site):
    import typer

    from rebuildbook.cli import app

    page = site.pages["commands.html"].text
    program = typer.main.get_command(app)
    for name, command in program.commands.items():
        assert f"<code>rebuildbook {name}" in page
        for one in command.params if not hasattr(command, "commands") else ():
            if one.param_type_name == "option" and "--help" not in one.opts:
                part = page.partition(f"<code>rebuildbook {name}</code>")[2].partition("<h2")[0]
                assert one.opts[0] in part, (name, one.opts)


@pytest.mark.parametrize("group", ["file-", "formulas-", "calculator-"])
def test_an_overview_lists_every_page_below_it(site, group):
    below = {name for name in site.pages if name.startswith(group)}
    overview = {"file-": "files", "formulas-": "formulas", "calculator-": "calculators"}[group]
    main = site.pages[f"{overview}.html"].text.partition("<main")[2].partition("</main>")[0]
    assert set(re.findall(r'<li><a href="([^"]+)">[^<]+</a>: \w', main)) == below


def test_the_safety_words_stand_on_every_page(site):
    for name, page in site.pages.items():
        plain = " ".join(unescape(page.text).split())
        assert "local codes and licensed practice prevail" in plain, name
    safety = site.pages["safety.html"].text
    assert all(f"{kind} drive</h3>" in safety for kind in ("Air", "Electric"))


def test_the_search_index_holds_every_page(site):
    text = (site.folder / "search-index.js").read_text(encoding="utf-8")
    rows = json.loads(text.removeprefix("window.searchIndex=").removesuffix(";\n"))
    assert {urlsplit(row[0]).path for row in rows} == set(site.pages) - {"sample.html"}
    found = {row[0]: row[3] for row in rows}
    assert "against" in found["file-job.html#duty.working_pressure"]


def test_the_search_works_from_a_folder(site, browser):
    page = browser.new_page(viewport={"width": 1200, "height": 900})
    asked, errors = [], []
    page.on("request", lambda request: asked.append(request.url))
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.on("console", lambda said: errors.append(said.text) if said.type == "error" else None)
    page.goto((site.folder / "index.html").as_uri())
    page.fill("#search", "duty.working_pressure")
    first = page.locator("#found a").first
    first.wait_for()
    assert first.get_attribute("href") == "file-job.html#duty.working_pressure"
    first.click()
    page.wait_for_url("**/file-job.html#duty.working_pressure")
    page.fill("#search", "nothingofthekind")
    page.locator("#found li", has_text="Nothing found").wait_for()
    assert not errors
    assert all(address.startswith("file:") for address in asked)
    page.close()


def test_maths_is_set_as_maths(site, browser):
    page = browser.new_page(viewport={"width": 1200, "height": 900})
    page.goto((site.folder / "formulas-preload.html").as_uri())
    fraction = page.locator("mfrac").first
    top, bottom = (fraction.locator(f":scope > *:nth-child({n})").bounding_box() for n in (1, 2))
    assert top["y"] + top["height"] <= bottom["y"] + 1.0
    page.close()


def test_no_page_is_wider_than_a_phone(site, browser):
    page = browser.new_page(viewport={"width": 420, "height": 900})
    some = ("calculator-torque", "calculator-relief-thermal", "formulas-preload", "formulas-rod")
    names = [name for name in site.pages if not name.startswith(("calculator-", "formulas-"))]
    too_wide = []
    for name in (*names, *(f"{one}.html" for one in some)):
        page.goto((site.folder / name).as_uri(), wait_until="domcontentloaded")
        wide = page.evaluate("document.documentElement.scrollWidth")
        if wide > 420:
            too_wide.append((name, wide))
    assert not too_wide
    page.close()
