"""A kernel on the interpreter that runs the command, whatever kernels are registered elsewhere."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

from jupyter_client.kernelspec import KernelSpec
from jupyter_client.manager import AsyncKernelManager
from jupyter_core.paths import jupyter_runtime_dir


class OwnInterpreterKernelManager(AsyncKernelManager):
    """Starts ipykernel with ``sys.executable``; no kernel specification is looked up."""

    @property
    def kernel_spec(self) -> KernelSpec:
        """The specification of a kernel on this very interpreter."""
        argv = [sys.executable, "-Xfrozen_modules=off", "-m", "ipykernel_launcher"]
        argv += ["-f", "{connection_file}", "--log-level=CRITICAL"]
        # several kernels run at once, and matrices this small only wait for each other's threads
        env = {"OMP_NUM_THREADS": os.environ.get("OMP_NUM_THREADS", "1")}
        return KernelSpec(
            argv=argv, env=env, display_name="Python 3", language="python", name="python3"
        )

    async def start_kernel(self, **settings: Any) -> None:  # type: ignore[override]
        """Start it, its connection file among the run's private files, its own log unheard.

        What cells print does not go that way; it comes back as output of the cell.
        """
        folder = Path(jupyter_runtime_dir())
        folder.mkdir(parents=True, exist_ok=True)
        self.connection_file = str(folder / "kernel.json")
        await super().start_kernel(stderr=subprocess.DEVNULL, **settings)
