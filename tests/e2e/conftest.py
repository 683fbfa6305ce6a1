"""The real command in its own process, and one shared fleet run for the tests that only read."""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import nbformat
import pytest

DEMO = Path(__file__).resolve().parents[2] / "parameters"
STAMP = "1767225600"  # 2026-01-01T00:00:00+00:00
GOOD = ("TW-2601", "TW-2606", "TW-2611")

# one text for each text field of a card; every one would do something if it were ever read as
# markup or code
HOSTILE = {
    "serial": "SN<script>alert(1)</script>",
    "line": "<img src=x onerror=alert(2)> & <b>lane</b>",
    "why": "**loud** [rod](javascript:alert(3)) # head | cell",
    "remarks": r"$\input{/etc/passwd}$ \write18{touch pwned} \(x^2\) 100 % ~a_b^c",
    "fluid": '#read("/etc/passwd") #eval("1+1") *strong* _em_ @ref //note',
    "hazard": "{{ 7*7 }} {% raw %} {# gone #} ${HOME} %(job)s {0}",
    "set_by": """'single' "double" `touch pwned` {curly} [square] <angle>""",
    "what": """'''; __import__("os").system("touch pwned") #""",
    "accepted_by": "</td></table></section><style>*{display:none}</style>",
    "role": "&lt;b&gt; &amp;amp; &#x3c;",
    "name": r"\u003cscript\u003e \n \t %s $(touch pwned)",
}


@dataclass
class Bench:
    """A folder to work in, with a copy of the demo sheets, and the command run there."""

    root: Path
    environment: dict[str, str]

    @property
    def cards(self) -> Path:
        return self.root / "parameters" / "jobs"

    @property
    def out(self) -> Path:
        return self.root / "out"

    def command(self, *arguments: object) -> list[str]:
        return [sys.executable, "-m", "rebuildbook", *map(str, arguments)]

    def __call__(self, *arguments: object) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            self.command(*arguments),
            cwd=self.root,
            env=self.environment,
            capture_output=True,
            encoding="utf-8",
            timeout=300,
            check=False,
        )

    def inside(self, *arguments: object) -> subprocess.CompletedProcess[str]:
        """The command in this process, without the seconds of imports: for what is refused."""
        from typer.testing import CliRunner

        from rebuildbook.cli import app

        with contextlib.chdir(self.root):
            ended = CliRunner().invoke(app, [str(one) for one in arguments], env=self.environment)
        assert ended.exception is None or isinstance(ended.exception, SystemExit), ended.exception
        return subprocess.CompletedProcess(
            list(arguments), ended.exit_code, ended.stdout, ended.stderr
        )

    @contextlib.contextmanager
    def started(self, *arguments: object) -> Iterator[subprocess.Popen[str]]:
        """The command on its way, in a process group of its own that does not outlive the test."""
        run = subprocess.Popen(
            self.command(*arguments),
            cwd=self.root,
            env=self.environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            encoding="utf-8",
            start_new_session=True,
            # a test run in the background of a shell hands an ignored SIGINT down
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # noqa: PLW1509
        )
        try:
            yield run
        finally:
            if run.poll() is None:
                os.killpg(run.pid, signal.SIGKILL)
                run.communicate()

    def card(self, name: str, *changes: tuple[str, str], like: str = "TW-2601") -> Path:
        """Write a card like a demo card, with pieces of its text changed."""
        text = (DEMO / "jobs" / f"{like}.yaml").read_text(encoding="utf-8")
        for old, new in changes:
            assert old in text, f"{old!r} is not in {like}"
            text = text.replace(old, new, 1)
        path = self.cards / f"{name}.yaml"
        path.write_text(text, encoding="utf-8")
        return path

    def quick_jobs(self, jobs: Sequence[str]) -> None:
        """Write a card for each job, and the quick notebook."""
        for number, job in enumerate(jobs):
            self.card(job, ("job: TW-2601", f"job: {job}"), ("SP-0417", f"SP-{number}"))
        self.quick_notebook()

    def quick_notebook(self) -> str:
        """Write a notebook of one section, for tests that are not about the worksheet."""
        sources = (
            'job_card = ""\noverrides = []\npaper = ""',
            "from rebuildbook.worksheet.build import open_worksheet\n"
            "worksheet = open_worksheet(job_card, overrides, paper)",
            'display(worksheet.show("identity"))',
        )
        cells = [nbformat.v4.new_code_cell(source) for source in sources]
        cells[0].metadata["tags"] = ["parameters"]
        for number, cell in enumerate(cells):
            cell["id"] = f"own-{number}"
        nbformat.write(nbformat.v4.new_notebook(cells=cells), self.root / "own.ipynb")
        return "own.ipynb"

    def files(self) -> dict[str, bytes]:
        """Every file below the root that is not in the out folder, links and folders included."""
        return {
            str(path.relative_to(self.root)): path.read_bytes() if path.is_file() else b""
            for path in self.root.rglob("*")
            if not path.is_relative_to(self.out)
        }


def new_bench(folder: Path) -> Bench:
    """Lay a bench out below ``folder``, in a path with spaces and letters beyond ASCII."""
    root = folder / "Ünit tëst 泵 {0}"
    (root / "parameters" / "jobs").mkdir(parents=True)
    shutil.copytree(DEMO / "models", root / "parameters" / "models")
    shutil.copy(DEMO / "shop.yaml", root / "parameters" / "shop.yaml")
    (root / "tmp").mkdir()
    environment = dict(os.environ) | {
        "TMPDIR": str(root / "tmp"),
        "PYTHONUTF8": "1",
        "SOURCE_DATE_EPOCH": STAMP,
        "COLUMNS": "200",
    }
    return Bench(root, environment)


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    return new_bench(tmp_path_factory.mktemp("bench"))


@pytest.fixture(scope="session")
def make_bench(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Bench]:
    """Lay out a bench of one's own, with all of the demo's cards and readings where wanted."""

    def make(name: str, everything: bool = False) -> Bench:
        made = new_bench(tmp_path_factory.mktemp(name))
        if everything:
            for folder in ("jobs", "readings"):
                place = made.root / "parameters" / folder
                shutil.copytree(DEMO / folder, place, dirs_exist_ok=True)
        return made

    return make


@dataclass
class Fleet:
    """What one big run left behind."""

    bench: Bench
    ended: subprocess.CompletedProcess[str]
    before: dict[str, bytes]
    after: dict[str, bytes]


@pytest.fixture(scope="session")
def fleet(make_bench: Callable[[str], Bench]) -> Fleet:
    """Three demo cards, a card full of hostile text and three bad cards in one call.

    Decoys stand where Jupyter and IPython look for the user's kernels and startup files.
    """
    bench = make_bench("fleet")
    for name in GOOD:
        bench.card(name, like=name)
    _hostile_card(bench)
    bench.card("bad-unit", ("job: TW-2601", "job: B-1"), ("SP-0417", "B1"), ("16 bar\n", "16 mm\n"))
    bench.card(
        "bad-field", ("job: TW-2601", "job: B-2"), ("SP-0417", "B2"), ("viscosity", "viscostiy")
    )
    bench.card("bad-model", ("job: TW-2601", "job: B-3"), ("model: slip", "model: slop"))
    bench.environment |= _decoys(bench.root / "decoy")
    before = bench.files()
    ended = bench("run", "parameters/jobs", "--out", "out", "--jobs", "2")
    return Fleet(bench, ended, before, bench.files())


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"


def _hostile_card(bench: Bench) -> None:
    text = {field: _quoted(words) for field, words in HOSTILE.items()}
    bench.card(
        "hostile",
        ("job: TW-2601", "job: HX-1"),
        ("serial: SP-0417", f"serial: {text['serial']}"),
        ("line: Casting shop, slip ring main, north end", f"line: {text['line']}"),
        ("why: >-", f"why: {text['why']}\n# "),
        ("remarks: >-", f"remarks: {text['remarks']}\n# "),
        ("name: Grey casting slip", f"name: {text['fluid']}"),
        ('["silica in the dried crust, keep it wet and sponge it off"]', f"[{text['hazard']}]"),
        ("set_by: bench 2", f"set_by: {text['set_by']}"),
        (
            "sign_off:",
            f"deviations:\n  - what: {text['what']}\n"
            f"    accepted_by: {text['accepted_by']}\nsign_off:",
        ),
        ("{role: fitter, name: bench 2,", f"{{role: {text['role']}, name: {text['name']},"),
    )
    path = bench.cards / "hostile.yaml"
    lines = path.read_text(encoding="utf-8").splitlines()
    kept: list[str] = []
    folded = False  # the lines of a folded text whose head was replaced go too
    for line in lines:
        if line == "# ":
            folded = True
        elif folded and line.startswith("  "):
            continue
        else:
            folded = False
            kept.append(line)
    path.write_text("\n".join(kept) + "\n", encoding="utf-8")


def _decoys(folder: Path) -> dict[str, str]:
    kernel = folder / "jupyter" / "kernels" / "python3"
    kernel.mkdir(parents=True)
    (kernel / "kernel.json").write_text(
        '{"argv": ["false"], "display_name": "decoy", "language": "python"}', encoding="utf-8"
    )
    startup = folder / "ipython" / "profile_default" / "startup"
    startup.mkdir(parents=True)
    (startup / "00-decoy.py").write_text('print("DECOY STARTUP")\n', encoding="utf-8")
    return {
        "JUPYTER_PATH": str(folder / "jupyter"),
        "JUPYTER_DATA_DIR": str(folder / "jupyter"),
        "IPYTHONDIR": str(folder / "ipython"),
    }
