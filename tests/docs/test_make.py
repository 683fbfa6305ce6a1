"""How the command answers where the site cannot be built."""

import importlib.util
from pathlib import Path

import pytest

from rebuildbook.commands import Refused
from rebuildbook.commands.docs import make_docs
from rebuildbook.site.build import SiteProblem, build_site, set_pages
from rebuildbook.site.fields import Missing, fields_of
from rebuildbook.site.pages import Page
from rebuildbook.site.text import part_of

ROOT = Path(__file__).resolve().parents[2]


def test_without_the_extra_it_says_what_to_install(monkeypatch, tmp_path):
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    with pytest.raises(Refused, match=r"pip install -e '\.\[docs\]'"):
        make_docs(tmp_path / "site", None)


def test_a_folder_that_is_no_site_is_left_alone(tmp_path):
    (tmp_path / "letter.txt").write_text("dear", encoding="utf-8")
    with pytest.raises(SiteProblem, match="is not empty and no site"):
        build_site(ROOT, tmp_path, None)
    assert [path.name for path in tmp_path.iterdir()] == ["letter.txt"]


def test_a_file_in_the_place_is_told(tmp_path):
    (tmp_path / "site").write_text("", encoding="utf-8")
    with pytest.raises(SiteProblem, match="is not a folder"):
        build_site(ROOT, tmp_path / "site", None)


def test_a_folder_without_the_sources_is_told(tmp_path):
    with pytest.raises(SiteProblem, match=r"has no README\.md"):
        build_site(tmp_path, tmp_path / "site", None)


@pytest.mark.parametrize(
    "text",
    ["[dead](nowhere.md)", "[dead](index.md#nowhere)", "[dead](/index.html)", "![dead](no.png)"],
)
def test_a_dead_link_stops_the_build(tmp_path, text):
    (tmp_path / "pages").mkdir()
    (tmp_path / "pages" / "index.md").write_text(f"# Here\n\n{text}\n", encoding="utf-8")
    with pytest.raises(SiteProblem, match=r"index\.md"):
        set_pages(tmp_path / "pages", tmp_path / "site", [Page("Here", "index.md", "")])


def test_a_field_without_a_meaning_stops_the_build():
    schema = {"title": "Stranger", "properties": {"size": {"type": "string"}}}
    with pytest.raises(Missing, match=r"Stranger\.size"):
        fields_of(schema)


def test_a_heading_inside_a_block_is_no_heading():
    text = "# A\nfirst\n```sh\n# a comment\n```\nlast\n# B\n"
    assert part_of(text, "A").endswith("last")
    with pytest.raises(LookupError, match="no heading"):
        part_of(text, "a comment")
