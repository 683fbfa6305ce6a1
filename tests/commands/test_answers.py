"""The short commands in their own words: arguments against answer and exit code."""

import re

import pytest
from typer.testing import CliRunner

from rebuildbook.cli import app

# answers that depend on a conversion are from the definitions of the units: 1 in = 25.4 mm,
# 1 lbf = 4.4482216152605 N, 1 gal (US) = 231 in^3, 1 bar = 100 000 Pa


def rebuildbook(*arguments: object):
    result = CliRunner().invoke(app, [str(argument) for argument in arguments])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def refused(*arguments: object) -> str:
    """Check that a call is refused with one message; gives the message."""
    result = rebuildbook(*arguments)
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    lines = result.stderr.strip().splitlines()
    assert len(lines) == 1, result.stderr
    return lines[0]


@pytest.mark.parametrize(
    ("quantity", "unit", "answer"),
    [
        ("18 ft*lbf", "N*m", "18 ft·lbf = 24.4047 N·m"),
        ("18 ft-lb", "N·m", "18 ft·lbf = 24.4047 N·m"),
        ("18 lb-ft", "Nm", "18 ft·lbf = 24.4047 N·m"),
        ("216 in-lb", "ft*lbf", "216 in·lbf = 18 ft·lbf"),
        ("216 inch-pounds", "ft*lbf", "216 in·lbf = 18 ft·lbf"),
        ("21 to 24 N*m", "in*lbf", "21 to 24 N·m = 185.866 to 212.418 in·lbf"),
        ("1 1/2 in", "mm", "1.5 in = 38.1 mm"),
        ("3/64 in", "mm", "0.046875 in = 1.19062 mm"),
        ("63.5 mm", "in", "63.5 mm = 2.5 in"),
        ("12 thou", "mm", "12 thou = 0.3048 mm"),
        ("1 gal", "L", "1 gal = 3.78541 L"),
        ("20 degC", "degF", "20 °C = 68 °F"),
        ("90 deg", "rad", "90° = 1.5708 rad"),
        ("100 psi", "bar", "100 psi = 6.89476 bar"),
        ("7 barg", "psig", "7 bar (gauge) = 101.526 psi (gauge)"),
        ("1 kgf*m", "N*m", "1 kgf·m = 9.80665 N·m"),
    ],
)
def test_convert_reads_the_spellings_of_the_sheets(quantity, unit, answer):
    result = rebuildbook("convert", quantity, unit)
    assert result.exit_code == 0, result.output
    assert result.stdout == answer + "\n"


def test_convert_without_a_unit_gives_all_the_usual_ones():
    lines = rebuildbook("convert", "18 ft*lbf").stdout.splitlines()
    assert lines[0] == "18 ft·lbf ="
    assert {"  24.4047 N·m", "  216 in·lbf"} <= set(lines)
    assert not any("ft·lbf" in line for line in lines[1:])


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("18",), "no unit"),
        (("18 frob",), "'frob' is not a unit"),
        (("18 ft*lbf", "bar"), "bar"),
        (("nan N*m",), "number"),
        (("",), ""),
        (("100 psig", "bara"), "gauge"),
        (("100 psi", "bara"), "does not say whether"),
        (("__import__('os').system('true')",), "__import__"),
        (("9**9**9 mm",), "9**9**9"),
    ],
)
def test_convert_refuses_with_one_message(arguments, words):
    assert words in refused("convert", *arguments)


@pytest.mark.parametrize(
    ("arguments", "numbering"),
    [
        ((8,), "8 on a circle, cross order; clockwise from the top"),
        ((1,), "1 on a circle"),
        ((200,), "200 on a circle"),
        ((12, "--layout", "rectangle"), "12 on a rectangle, cross order"),
        ((10, "--layout", "rectangle", "--columns", 5), "10 on a rectangle"),
        ((10, "--layout", "rectangle", "--rows", 2), "10 on a rectangle"),
        ((12, "--layout", "oval"), "12 on an oval"),
        ((6, "--layout", "row"), "6 on a row"),
        ((8, "--layout", "row", "--rows", 2), "8 on a row"),
        ((8, "--kind", "rotation"), "8 on a circle, rotation order"),
        ((16, "--kind", "quadrant"), "16 on a circle, quadrant order"),
    ],
)
def test_order_takes_every_fastener_once(arguments, numbering):
    result = rebuildbook("order", *arguments)
    assert result.exit_code == 0, result.output
    head, order = result.stdout.splitlines()
    assert head.startswith(numbering)
    assert sorted(map(int, order.split())) == list(range(1, arguments[0] + 1))


def test_the_cross_order_of_eight():
    # the usual star of an eight-bolt circle numbered round, as ASME PCC-1 numbers it
    assert "  1  5  3  7  2  6  4  8\n" in rebuildbook("order", 8).stdout


def test_order_gives_the_passes_on_the_scale_without_idle_zeros():
    result = rebuildbook("order", 8, "--torque", "21 to 24 N*m")
    torques = re.findall(r"^  \d\. (.+?): ", result.stdout, re.MULTILINE)
    # 30 %, 60 % and 100 % of 22.5, on steps of 0.5, and the closing round
    assert torques == ["by hand", "7 N·m", "13.5 N·m", "22.5 N·m", "22.5 N·m"]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("0",), "0 fasteners given; a joint may have 1 to 200"),
        (("201",), "201 fasteners given"),
        (("--", "-3"), "-3 fasteners given"),
        (("5", "--layout", "rectangle"), "5 fasteners do not go round"),
        (("8", "--layout", "rectangle", "--columns", "9"), "9 columns"),
        (("6", "--layout", "row", "--rows", "4"), "do not fill 4 rows"),
        (("6", "--layout", "row", "--rows", "-1"), "rows"),
        (("6", "--layout", "row", "--rows", "0"), "rows"),
        (("8", "--layout", "heap"), "layout 'heap' is not known"),
        (("8", "--kind", "random"), "order 'random' is not known"),
        (("8", "--torque", "24"), "no unit"),
        (("8", "--torque", "24 mm"), "is not a torque"),
        (("8", "--torque", "-24 N*m"), ""),
        (("8", "--torque", "24 N*m", "--step", "0 N*m"), "step"),
        (("8", "--torque", "24 N*m", "--passes", "200 %"), "pass fractions"),
        (("8", "--torque", "24 N*m", "--passes", ""), "fraction"),
        (("8", "--figure", "pattern.doc"), "--figure pattern.doc: wanted a name that ends in"),
        (("8", "--figure", "no/such/folder.svg"), "cannot be written"),
    ],
)
def test_order_refuses_with_one_message(tmp_path, monkeypatch, arguments, words):
    monkeypatch.chdir(tmp_path)
    assert words in refused("order", *arguments)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("ending", "start"),
    [(".svg", b"<?xml"), (".png", b"\x89PNG\r\n\x1a\n"), (".pdf", b"%PDF"), (".PNG", b"\x89PNG")],
)
def test_order_draws_the_pattern(tmp_path, ending, start):
    path = tmp_path / f"pattern {ending}"
    result = rebuildbook("order", 8, "--figure", path)
    assert result.exit_code == 0, result.output
    assert result.stdout.endswith(f"figure: {path}\n")
    assert path.read_bytes().startswith(start)
    assert path.stat().st_size > 1000


def test_new_sheets_pass_the_check_once_all_three_stand(tmp_path):
    folder = tmp_path / "parameters"
    for kind, path in (
        ("model", "models/new-model.yaml"),
        ("shop", "shop.yaml"),
        ("job", "jobs/NEW-1.yaml"),
    ):
        result = rebuildbook("new", kind, "--folder", folder)
        assert result.exit_code == 0, result.output
        assert f"{folder / path} written" in result.stdout
        assert (folder / path).is_file()
    result = rebuildbook("check", folder)
    assert result.exit_code == 0, result.output
    assert result.stdout == "3 sheets read, 0 problems\n"


@pytest.mark.parametrize(
    ("kind", "name", "path"),
    [
        ("model", "slip-pump-2", "models/slip-pump-2.yaml"),
        ("job", "AB-7.2", "jobs/AB-7.2.yaml"),
        ("shop", "north-shop", "north-shop.yaml"),
    ],
)
def test_a_new_sheet_gets_its_name_and_is_never_overwritten(tmp_path, kind, name, path):
    assert rebuildbook("new", kind, name, "--folder", tmp_path).exit_code == 0
    sheet = tmp_path / path
    assert re.search(rf"^(name|job): {re.escape(name)}$", sheet.read_text("utf-8"), re.MULTILINE)
    sheet.write_text("filled in", encoding="utf-8")
    message = refused("new", kind, name, "--folder", tmp_path)
    assert "is there already; it is not overwritten" in message
    assert sheet.read_text(encoding="utf-8") == "filled in"


@pytest.mark.parametrize(
    ("kind", "name", "words"),
    [
        ("pump", None, "'pump' is not a kind of sheet"),
        ("model", "Two Words", "not a usable name"),
        ("model", "../out", "not a usable name"),
        ("job", "../out", "not a usable name"),
        ("job", "a/b", "not a usable name"),
        ("shop", "-x", ""),
        ("job", "x\n", "not a usable name"),
    ],
)
def test_a_bad_name_is_refused(tmp_path, kind, name, words):
    folder = tmp_path / "inside"
    given = ["--", name] if name else []
    assert words in refused("new", "--folder", folder, kind, *given)
    assert list(tmp_path.iterdir()) == []


def test_new_in_a_folder_that_is_a_file_is_refused(tmp_path):
    (tmp_path / "file").write_text("x", encoding="utf-8")
    assert "cannot be written" in refused("new", "job", "--folder", tmp_path / "file")


def test_check_shows_quantities_as_they_were_understood(tmp_path):
    for kind in ("model", "shop", "job"):
        rebuildbook("new", kind, "--folder", tmp_path)
    result = rebuildbook("check", "--echo", tmp_path / "jobs" / "NEW-1.yaml")
    assert "  duty.working_pressure: 10 bar (gauge)\n" in result.stdout
    assert "  fluid.density: 1000 kg/m³\n" in result.stdout


def test_check_names_the_setting_that_is_wrong(tmp_path):
    for kind in ("model", "shop", "job"):
        rebuildbook("new", kind, "--folder", tmp_path)
    result = rebuildbook("check", tmp_path / "jobs", "--set", "duty.rate=5 mm")
    assert result.exit_code == 2
    assert "--set duty.rate=5 mm: duty.rate: " in result.stderr


@pytest.mark.parametrize(
    "command", [(), ("run",), ("check",), ("convert",), ("order",), ("new",), ("lab",)]
)
def test_every_command_has_help(command):
    result = rebuildbook(*command, "--help")
    assert result.exit_code == 0
    assert "Usage: " in result.stdout


def test_lab_needs_a_folder(tmp_path):
    assert "is not a folder" in refused("lab", tmp_path / "none")
