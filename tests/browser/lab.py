"""A real JupyterLab on the loopback, and a browser in it that works the boards as a person does."""

from __future__ import annotations

import contextlib
import os
import secrets
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
CHROMIUM = shutil.which("chromium") or shutil.which("google-chrome")
SHOTS = "REBUILDBOOK_SHOTS"  # a folder where pictures of the boards are kept
QUIET = '{"fetchNews": "false", "checkForUpdates": false}'
READY = 60.0  # s


@dataclass
class Lab:
    """A server over a copy of notebooks and parameters, and a page of a browser in it."""

    root: Path
    address: str
    page: Any
    shots: Path

    def open(self, name: str) -> Board:
        """Open a board's notebook and run it, in the kernel of the ones before."""
        path = f"notebooks/whatif_{name}.ipynb"
        self.page.evaluate(
            """async (path) => {
                const {commands, serviceManager} = window.jupyterapp;
                const running = Array.from(serviceManager.kernels.running());
                const kernel = running.length ? {id: running[0].id} : {name: 'python3'};
                const panel = await commands.execute('docmanager:open', {path, kernel});
                await panel.context.ready;
                await panel.sessionContext.ready;
                await commands.execute('notebook:run-all-cells');
            }""",
            path,
        )
        at = self.page.locator(".jp-NotebookPanel:not(.lm-mod-hidden) .rb-board")
        at.locator(".rb-figure svg").wait_for()
        return Board(self, name, at)


@dataclass
class Board:
    """An open board; fields go by their labels, rows of the table by their ids."""

    lab: Lab
    name: str
    at: Any

    def field(self, label: str) -> Any:
        """The field with this label."""
        return self.at.get_by_label(label, exact=True)

    def knob(self, label: str) -> Any:
        """All that belongs to the field with this label."""
        return self.at.locator(".rb-knob").filter(has=self.lab.page.get_by_label(label, exact=True))

    def slider(self, label: str) -> Any:
        """Its slider."""
        return self.knob(label).get_by_role("slider")

    def type(self, label: str, text: str) -> None:
        """Type a text into a field by keyboard."""
        self.field(label).focus()
        self.lab.page.keyboard.press("Control+A")
        self.lab.page.keyboard.type(text)
        self.lab.page.keyboard.press("Enter")

    def figure(self) -> str:
        """The figure as it stands in the page."""
        return str(self.at.locator(".rb-figure").inner_html())

    def wait_for_change(self, field: Any, before: str) -> None:
        """Wait until a field says something else."""
        self.lab.page.wait_for_function(
            "([field, before]) => field.value !== before", arg=[field.element_handle(), before]
        )

    def wait_for_rows(self, wanted: dict[str, str]) -> None:
        """Wait until the table says this; what it says instead is told where it never does."""
        end = time.monotonic() + READY / 4
        while (said := self.rows()) != wanted:
            assert time.monotonic() < end, {k: (v, wanted.get(k)) for k, v in said.items()}
            time.sleep(0.02)

    def rows(self, when: str = "after") -> dict[str, str]:
        """What the table says, by id."""
        found: dict[str, str] = self.at.locator("tr[data-id]").evaluate_all(
            "(rows, when) => Object.fromEntries(rows.map(row => [row.dataset.id,"
            " row.querySelector(`[data-when=${when}]`).innerText.replace(/\\s+/g, ' ').trim()]))",
            when,
        )
        return found

    def wait_for_figure(self, before: str) -> None:
        """Wait until the figure is another one."""
        self.lab.page.wait_for_function(
            "([at, before]) => at.querySelector('.rb-figure').innerHTML !== before",
            arg=[self.at.element_handle(), before],
        )

    def shoot(self, mark: str = "") -> Path:
        """Keep a picture of the whole board, in a window as high as it."""
        path, page = self.lab.shots / f"{self.name}{mark}.png", self.lab.page
        size = page.viewport_size
        height = int(self.at.bounding_box()["height"]) + 300
        page.set_viewport_size({"width": size["width"], "height": height})
        page.wait_for_timeout(200)
        self.at.scroll_into_view_if_needed()
        self.at.screenshot(path=path)
        page.set_viewport_size(size)
        return path


@contextlib.contextmanager
def lab(folder: Path, shots: Path, **view: Any) -> Iterator[Lab]:
    """Start the server and a browser; both end with the block."""
    from playwright.sync_api import sync_playwright

    folder.mkdir(exist_ok=True)
    for name in ("notebooks", "parameters"):
        shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("*.sqlite*"))
    shots.mkdir(parents=True, exist_ok=True)
    with _server(folder) as address, sync_playwright() as browsers:
        browser = browsers.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        page = browser.new_page(**({"viewport": {"width": 1400, "height": 1000}} | view))
        page.set_default_timeout(READY * 1000)
        page.goto(address)
        page.wait_for_function("window.jupyterapp !== undefined")
        page.evaluate("window.jupyterapp.restored")
        page.evaluate("window.jupyterapp.commands.execute('application:toggle-left-area')")
        yield Lab(folder, address, page, shots)
        browser.close()


@contextlib.contextmanager
def _server(folder: Path) -> Iterator[str]:
    token, own = secrets.token_hex(16), folder / ".own"
    quiet = own / "settings" / "@jupyterlab" / "apputils-extension"
    quiet.mkdir(parents=True)
    (quiet / "notification.jupyterlab-settings").write_text(QUIET, encoding="utf-8")
    places = {"CONFIG_DIR": "config", "RUNTIME_DIR": "runtime", "DATA_DIR": "data"}
    environment = dict(os.environ) | {f"JUPYTER_{k}": str(own / v) for k, v in places.items()}
    environment |= {
        "JUPYTERLAB_SETTINGS_DIR": str(own / "settings"),
        "JUPYTERLAB_WORKSPACES_DIR": str(own / "workspaces"),
        "IPYTHONDIR": str(own / "ipython"),
    }
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [
        sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root", f"--port={port}",
        "--ServerApp.ip=127.0.0.1", "--ServerApp.port_retries=0",
        f"--IdentityProvider.token={token}",
        f"--ServerApp.root_dir={folder}", "--LabApp.expose_app_in_browser=True",
    ]  # fmt: skip
    with (folder / ".lab.log").open("wb") as log:
        server = subprocess.Popen(command, cwd=folder, env=environment, stdout=log, stderr=log)
    try:
        _await(f"http://127.0.0.1:{port}/api", server, folder / ".lab.log")
        yield f"http://127.0.0.1:{port}/lab?token={token}"
    finally:
        server.terminate()
        server.wait(30)


def _await(address: str, server: subprocess.Popen[bytes], log: Path) -> None:
    end = time.monotonic() + READY
    while True:
        try:
            urllib.request.urlopen(address, timeout=5).read()  # noqa: S310  (the loopback)
            return
        except (urllib.error.URLError, OSError):
            if server.poll() is not None or time.monotonic() > end:
                raise RuntimeError(log.read_text(encoding="utf-8", errors="replace")) from None
            time.sleep(0.1)
