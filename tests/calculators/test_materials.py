import dataclasses

import pytest

from rebuildbook.calculators.materials import FIRST_YIELD, Material, contact_limit, material
from rebuildbook.reference import rows

TABLE = rows("materials")
every_row = pytest.mark.parametrize("row", TABLE, ids=lambda row: row["name"])


@every_row
def test_each_row_is_whole_and_says_where_it_comes_from(row):
    found = material(row["name"])
    assert found.name == row["name"]
    assert found.source.strip()
    assert 0.001e9 < found.elastic_modulus < 700e9
    assert 800 < found.density < 16000
    if found.yield_strength and found.tensile_strength:
        assert found.yield_strength <= found.tensile_strength
    assert (contact_limit(found, "line") is None) == (found.kind == "elastomer")


def test_no_name_stands_for_two_materials():
    names = [
        name.casefold() for row in TABLE for name in (row["name"], *row["also"].split("|")) if name
    ]
    assert len(names) == len(set(names))


@pytest.mark.parametrize(
    ("written", "meant"),
    [("316", "stainless steel 316"), ("Stainless  Steel 316", "stainless steel 316"),
     ("Tungsten Carbide", "tungsten carbide, 6 % cobalt"), ("POM", "acetal"),
     ("stainless steel 440C hardened", "stainless steel 440C, hardened")],
)  # fmt: skip
def test_other_names_and_spellings(written, meant):
    assert material(written).name == meant


def test_an_unknown_name_gets_its_nearest():
    with pytest.raises(LookupError, match="alumina"):
        material("alumna")
    with pytest.raises(LookupError, match="no material 'zzzz'"):
        material("zzzz")


def test_limits_by_kind():
    base = Material("x", "ductile", 2e11, 0.3, 8000.0, yield_strength=3e8, compressive_strength=9e8)
    assert contact_limit(base, "line") == FIRST_YIELD["line"] * 3e8
    assert contact_limit(base, "point") == FIRST_YIELD["point"] * 3e8
    assert contact_limit(dataclasses.replace(base, kind="brittle"), "line") == 9e8
    plastic = dataclasses.replace(base, kind="plastic", compressive_strength=None)
    assert contact_limit(plastic, "line") == 3e8
    assert contact_limit(dataclasses.replace(base, contact_limit=4e9), "line") == 4e9
    assert contact_limit(dataclasses.replace(base, kind="elastomer"), "line") is None
    assert contact_limit(dataclasses.replace(base, yield_strength=None), "line") is None


@pytest.mark.parametrize(
    ("change", "message"),
    [({"elastic_modulus": 0.0}, "elastic_modulus"), ({"density": -1.0}, "density"),
     ({"poisson_ratio": 0.6}, "Poisson")],
)  # fmt: skip
def test_what_no_material_has_is_refused(change, message):
    with pytest.raises(ValueError, match=message):
        dataclasses.replace(material("316"), **change)
