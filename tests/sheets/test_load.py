"""Bad input: one clear message each, with file, line, field, what was given and what is allowed."""

from pathlib import Path

import pytest

from rebuildbook.sheets import Problem, SheetError, load_case, load_sheet

DEMO = Path(__file__).resolve().parents[2] / "parameters"
CARD = "jobs/card.yaml"


def problems(root: Path, *overrides: str) -> list[Problem]:
    with pytest.raises(SheetError) as caught:
        load_case(root / CARD, overrides)
    return caught.value.problems


def only(root: Path, *overrides: str) -> Problem:
    found = problems(root, *overrides)
    assert len(found) == 1, [str(problem) for problem in found]
    return found[0]


@pytest.mark.parametrize("card", sorted((DEMO / "jobs").glob("*.yaml")), ids=lambda p: p.stem)
def test_every_demo_card_loads(card):
    case = load_case(card)
    assert case.job.job == card.stem
    assert set(case.files) == {"job", "model", "shop"}


@pytest.mark.parametrize(
    ("old", "new", "field", "words"),
    [
        ("working_pressure: 16 bar", "working_pressure: 16", "duty.working_pressure", "no unit"),
        ("working_pressure: 16 bar", "working_pressure: 16 mm", "duty.working_pressure", "not a"),
        ("working_pressure: 16 bar", "working_pressure: .nan", "duty.working_pressure", "number"),
        ("working_pressure: 16 bar", "working_pressure: nan bar", "duty.working_pressure", "numb"),
        ("working_pressure: 16 bar", "working_pressure: -16 bar", "duty.working_pressure", "negat"),
        ("working_pressure: 16 bar", "working_pressure: 0 bar", "duty.working_pressure", "zero"),
        ("working_pressure: 16 bar", "working_pressure: [16 bar]", "duty.working_pressure", "list"),
        ("working_pressure: 16 bar", "working_pressure: yes", "duty.working_pressure", "number"),
        ("working_pressure: 16 bar", "working_pressure: 16 bara", "duty.working_pressure", "mixed"),
        (
            "working_pressure: 16 bar",
            "working_pressure: 16,5 bar",
            "duty.working_pressure",
            "comma",
        ),
        ("kind: slip", "kind: slurry", "fluid.kind", "'glaze'"),
        ("opened: 2026-09-01", "opened: 1 Sep", "opened", "2026-03-31"),
        ("serial: SP-0417", "serial: ''", "serial", "empty"),
        ("serial: SP-0417", "serial: [1]", "serial", "wanted text; got a list"),
        ("job: TW-2601", "job: ../TW", "job", "usable name"),
        (
            "cylinder-bore: 80.07 mm",
            "cylinder-bor: 80.07 mm",
            "measured.cylinder-bor",
            "cylinder-b",
        ),
        ("wrench: C-400", "wrench: C-40", "tools.piston-nut.wrench", "did you mean C-400"),
        ("serial: SP-0417", "serail: SP-0417", "serail", "did you mean serial"),
    ],
)
def test_a_bad_value_is_told_with_its_line_and_field(sheets, edit, old, new, field, words):
    path = edit(CARD, old, new)
    line = next(
        number
        for number, text in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if new.split(":")[0].strip() + ":" in text and new in text
    )
    found = [problem for problem in problems(sheets) if problem.field == field]
    assert len(found) == 1, [str(problem) for problem in problems(sheets)]
    assert words in str(found[0])
    assert found[0].line == line
    assert found[0].file.endswith("card.yaml")


def test_all_problems_of_a_file_come_in_one_go(sheets, edit):
    edit(CARD, "working_pressure: 16 bar", "working_pressure: 16")
    edit(CARD, "rate: 28 cycles/min", "rate: 28 strokes/min")
    edit(CARD, "kind: slip", "kind: soup")
    edit("shop.yaml", "paper: ", "papre: ")
    fields = {problem.field for problem in problems(sheets)}
    assert fields == {"duty.working_pressure", "duty.rate", "fluid.kind", "papre"}


def test_a_missing_field_is_told_with_what_it_wants(sheets, edit):
    edit(CARD, "  density: 1.68 g/cm^3\n", "")
    found = only(sheets)
    assert found.field == "fluid.density"
    assert "missing" in found.message
    assert "kg/m^3" in found.message


def test_a_missing_model_names_the_nearest(sheets, edit):
    edit(CARD, "model: slip-piston-4b", "model: slip-piston-4")
    assert "did you mean slip-piston-4b" in only(sheets).message


@pytest.mark.parametrize("name", ["../../etc/passwd", "/etc/passwd", "models/slip-piston-4b"])
def test_a_model_is_a_name_and_never_a_path(sheets, edit, name):
    edit(CARD, "model: slip-piston-4b", f"model: {name}")
    assert any(problem.field == "model" for problem in problems(sheets))


def test_a_field_given_twice_names_both_lines(sheets, edit):
    edit(CARD, "serial: SP-0417", "serial: SP-0417\nserial: SP-0418")
    found = only(sheets)
    assert found.field == "serial"
    assert "twice" in found.message and "line 4" in found.message


def test_tabs_are_named(sheets, edit):
    edit(CARD, "  name: Grey casting slip", "\tname: Grey casting slip")
    found = only(sheets)
    assert "tab" in found.message
    assert found.line is not None


@pytest.mark.parametrize(
    "bomb",
    [
        "a: &a [x, x]\nb: &b [*a, *a, *a]\n",
        "a: !!python/object/apply:os.system ['true']\n",
        "base: &base {x: 1}\nother:\n  <<: *base\n",
    ],
)
def test_anchors_aliases_and_tags_are_refused(tmp_path, bomb):
    path = tmp_path / "card.yaml"
    path.write_text("kind: job\n" + bomb, encoding="utf-8")
    with pytest.raises(SheetError, match="anchors, aliases and tags"):
        load_sheet(path)


def test_a_file_of_five_megabytes_is_refused_unread(tmp_path):
    path = tmp_path / "card.yaml"
    path.write_text("kind: job\nremarks: " + "x" * 5_000_000, encoding="utf-8")
    with pytest.raises(SheetError, match=r"is 5\.0 MB; a sheet has at most 1 MB"):
        load_sheet(path)


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"kind: job\nserial: caf\xe9\n", "line 2|:2: is not UTF-8"),
        (b"", "mapping"),
        (b"- a\n- b\n", "mapping"),
        (b"just text", "mapping"),
        (b"kind: job\n---\nkind: job\n", "more than one YAML document"),
        (b"kind: [job\n", "is not YAML"),
        (b"kind: job\nx: " + b"[" * 2000 + b"]" * 2000, "nested"),
        (b"kind: pump\n", "'job', 'model', 'shop', 'columns' or 'what-if'"),
        (b"serial: x\n", "which sheet it is"),
        (b'kind: job\nserial: "a\\x00b"\n', "control character"),
    ],
)
def test_files_that_are_no_sheets(tmp_path, raw, words):
    path = tmp_path / "card.yaml"
    path.write_bytes(raw)
    with pytest.raises(SheetError, match=words):
        load_sheet(path)


def test_missing_files_and_folders_are_told(tmp_path):
    with pytest.raises(SheetError, match="no such file"):
        load_sheet(tmp_path / "none.yaml")
    with pytest.raises(SheetError, match="is a folder"):
        load_sheet(tmp_path)


def test_a_serial_keeps_its_zeros(sheets, edit):
    edit(CARD, "serial: SP-0417", "serial: 00417")
    assert load_case(sheets / CARD).job.serial == "00417"


@pytest.mark.parametrize(
    "setting",
    ["duty.test_pressure=17 bar", "job.duty.test_pressure=17 bar"],
)
def test_an_override_changes_one_value(sheets, setting):
    case = load_case(sheets / CARD, [setting])
    assert case.job.duty.test_pressure.canonical == "17 bar (gauge)"


def test_an_override_reaches_the_model_and_the_shop(sheets):
    case = load_case(sheets / CARD, ["joints.fluid-cover.torque=30 to 33 N*m", "shop.units=us"])
    assert case.model.joints["fluid-cover"].torque.canonical == "30 to 33 N·m"
    assert case.shop.units == "us"


@pytest.mark.parametrize(
    ("setting", "words"),
    [
        ("duty.test_pressure=17", "no unit"),
        ("duty.test_presure=17 bar", "no sheet has a field"),
        ("nonsense", "dotted.path=value"),
        ("=5 bar", "dotted.path=value"),
        ("duty..x=5 bar", "dotted.path=value"),
        ("kind=job", "more than one sheet has kind"),
        ("sign_off.9.name=x", "list of 2"),
        ("joints.fluid-cover.torque=__import__('os').system('true')", "range or a value"),
        ("job.job=../../x", "usable name"),
        ("duty.test_pressure=[1, 2]", "one pressure"),
        ("model=slip-piston", "did you mean slip-piston-4b"),
    ],
)
def test_a_bad_override_names_itself(sheets, setting, words):
    found = problems(sheets, setting)
    assert any(words in str(problem) for problem in found), [str(p) for p in found]
    assert all("--set" in str(problem) for problem in found)


def test_names_that_point_nowhere_are_found(sheets, edit):
    edit("models/slip-piston-4b.yaml", "holds: valve-chest", "holds: valve-chests")
    found = only(sheets)
    assert found.field == "joints.suction-elbow.holds"
    assert "did you mean valve-chest" in found.message


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("thread: M12", "thread: M12x9", "M12"),
        ('strength_class: "8.8"', 'strength_class: "8.9"', "8.8"),
        ("condition: oiled", "condition: oily", "oiled"),
        ("material: ductile iron", "material: ductile irno", "ductile iron"),
    ],
)
def test_reference_names_are_checked_with_the_nearest_named(sheets, edit, old, new, words):
    edit("models/slip-piston-4b.yaml", old, new)
    assert words in str(only(sheets).message)


@pytest.mark.parametrize(
    ("setting", "words"),
    [
        ("hole_diameter=15 mm", "hole_diameter: is not below the bearing face, 15 mm"),
        ("roughness=161 µm", "roughness: is over Rz 160 µm"),
        ("layers.0.outer_diameter=11 mm", "outer_diameter: is not above the hole, 11 mm"),
        ("layers.1.creep=100 %", "layers.1.creep: is 100 % or over"),
        ("gasket.creep=1.2", "gasket.creep: is 100 % or over"),
        ("gasket.inner_diameter=124 mm", "inner_diameter: is not below 124 mm outside"),
        ("passes=[50 %, 40 %, 100 %]", "each must be larger than the one before"),
        ("passes=[500 %]", "not above 1 (100 %)"),
        ("passes=[50 %]", "the last must be 1 (100 %)"),
    ],
)
def test_a_joint_that_cannot_be_is_refused_with_its_place(sheets, setting, words):
    with pytest.raises(SheetError) as caught:
        load_case(sheets / CARD, [f"joints.fluid-cover.{setting}"])
    assert words in str(caught.value), str(caught.value)
