"""A kernel on the interpreter that runs the command, whatever kernels are registered elsewhere."""

from __future__ import annotations

import sys

from jupyter_client.kernelspec import KernelSpec
from jupyter_client.manager import AsyncKernelManager


class OwnInterpreterKernelManager(AsyncKernelManager):
    """Starts ipykernel with ``sys.executable``; no kernel specification is looked up."""

    @property
    def kernel_spec(self) -> KernelSpec:
        """The specification of a kernel on this very interpreter."""
        argv = [sys.executable, "-Xfrozen_modules=off", "-m", "ipykernel_launcher"]
        argv += ["-f", "{connection_file}", "--log-level=CRITICAL"]
        return KernelSpec(argv=argv, display_name="Python 3", language="python", name="python3")
