"""Processes forked from one with everything loaded: see `nursery` for that one.

A kernel is the same ipykernel that is started otherwise, and nbclient drives it as ever. What is
saved is the start of an interpreter, its imports, and waits that a kernel of our own does not need.
"""

from __future__ import annotations

import atexit
import contextlib
import itertools
import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Mapping, Sequence
from pathlib import Path
from queue import Empty
from typing import Any

from jupyter_client.asynchronous.client import AsyncKernelClient
from jupyter_client.kernelspec import KernelSpecManager, NoSuchKernel
from jupyter_client.manager import AsyncKernelManager
from jupyter_client.provisioning.local_provisioner import LocalProvisioner
from traitlets import Type

from rebuildbook.batch.scratch import Scratch, short_place

ADDRESS = "REBUILDBOOK_NURSERY"  # where a nursery listens that a parent process has started
PRELOAD = "REBUILDBOOK_PRELOAD"  # modules, parted by commas, for a nursery started here
# what a kernel loads as it starts
KERNEL_MODULES = (
    "ipykernel.kernelapp",
    "ipykernel.ipkernel",
    "ipykernel.debugger",
    "IPython.core.completerlib",
    "IPython.core.debugger",
    "IPython.core.logger",
    "IPython.core.oinspect",
    "IPython.extensions.storemagic",
    "tornado.platform.asyncio",
    "tornado.queues",
)
START = 60.0  # s; the imports of a nursery on a slow machine
REFUSED = 3.0  # s; until one that died has a successor
YOUNG, YOUNG_DEATHS = 2.0, 10  # s, and how many in a row that never lived longer are enough
_POLL = 0.005  # s


class Nursery:
    """A nursery started from here; ``address`` is its socket. It ends with ``close`` or with us.

    One that dies is started again, unless none ever comes to life.
    """

    def __init__(self, preload: Sequence[str] = (), quiet: bool = False) -> None:
        self._scratch = Scratch(short_place())
        self.address = str(self._scratch.path / "s")
        self._preload, self._quiet = (*KERNEL_MODULES, *preload), quiet
        self._closed, self._changing = False, threading.RLock()
        self._process = self._started()
        threading.Thread(target=self._watch, daemon=True).start()

    def _started(self) -> subprocess.Popen[bytes]:
        environment = {"MPLBACKEND": "module://matplotlib_inline.backend_inline"} | os.environ
        return subprocess.Popen(
            [
                sys.executable,
                "-Xfrozen_modules=off",  # as kernels are started otherwise; a debugger wants it
                "-m",
                "rebuildbook.batch.nursery",
                self.address,
                *self._preload,
            ],
            stdin=subprocess.PIPE,
            stderr=subprocess.DEVNULL if self._quiet else None,
            env=environment,
            process_group=0,  # a terminal sends Ctrl-C to a whole group; here we act on it
        )

    def _watch(self) -> None:
        died_young = 0
        while died_young < YOUNG_DEATHS:
            began = time.monotonic()
            self._process.wait()
            died_young = died_young + 1 if time.monotonic() - began < YOUNG else 0
            with self._changing:
                if self._closed:
                    return
                Path(self.address).unlink(missing_ok=True)
                self._process = self._started()
        with contextlib.suppress(OSError):  # who asks is refused, and need not wait
            Path(self.address).touch()

    def close(self) -> None:
        """End it at once, and every kernel it has."""
        with self._changing:
            self._closed = True
        assert self._process.stdin is not None  # noqa: S101
        self._process.stdin.close()
        try:
            self._process.wait(0.5)
        except subprocess.TimeoutExpired:  # still loading
            self._process.kill()
            self._process.wait()
        self._scratch.close()


_count = itertools.count()  # of kernels, for the names of their sockets
_own: dict[int, Nursery] = {}  # by process id: a forked process has none yet


def nursery_address() -> str:
    """Where to ask for kernels: the nursery we were told of, else one of this process's own."""
    told = os.environ.get(ADDRESS)
    if told:
        return told
    if os.getpid() not in _own:
        names = [name for name in os.environ.get(PRELOAD, "").split(",") if name]
        nursery = _own[os.getpid()] = Nursery(names)
        atexit.register(nursery.close)
    return _own[os.getpid()].address


class NurseryDied(RuntimeError):  # noqa: N818  (said of another process)
    """The process that kernels are forked from has ended, and taken its kernels along."""

    def __init__(self) -> None:
        super().__init__("the process that forks kernels has ended")


_deaths = [0]  # of nurseries, as far as this process has seen


def nursery_deaths() -> int:
    """How often this process saw a nursery die."""
    return _deaths[0]


def _died() -> NurseryDied:
    _deaths[0] += 1
    return NurseryDied()


class ForkedProcess:
    """A process forked by a nursery, with what LocalProvisioner asks of a ``Popen``.

    ``request`` says what it is to be, see `nursery`; ``passed`` are open files it is given.
    """

    stdin = stdout = stderr = None

    def __init__(self, request: Mapping[str, Any], passed: Sequence[int] = ()) -> None:
        usual = {"cwd": os.getcwd(), "env": dict(os.environ), "memory": 0}  # noqa: PTH109
        line = json.dumps(usual | dict(request)).encode() + b"\n"
        self._link = _connect(nursery_address())
        self.returncode: int | None = None
        self._heard = b""
        try:
            sent = socket.send_fds(self._link, [line], passed)
            self._link.sendall(line[sent:])
            while b"\n" not in self._heard:
                answer = self._link.recv(64)
                if not answer:
                    raise _died()
                self._heard += answer
        except ConnectionError:  # it died with words unread
            raise _died() from None
        first, _, self._heard = self._heard.partition(b"\n")
        self.pid = int(first)
        self._link.setblocking(False)

    def poll(self) -> int | None:
        """Give the exit code; None while it runs."""
        if self.returncode is not None:
            return self.returncode
        try:
            answer = self._link.recv(64)
        except BlockingIOError:
            answer = None
        except ConnectionError:
            answer = b""
        self._heard += answer or b""
        if answer == b"":  # a nursery that died took it along
            _died()
            self.returncode = -signal.SIGKILL
        elif b"\n" in self._heard:
            self.returncode = int(self._heard)
        if self.returncode is not None:
            self._link.close()
        return self.returncode

    def wait(self, timeout: float | None = None) -> int:
        """Wait for its end; raises TimeoutExpired."""
        last = time.monotonic() + timeout if timeout is not None else float("inf")
        while (code := self.poll()) is None:
            if time.monotonic() > last:
                raise subprocess.TimeoutExpired("kernel", timeout or 0.0)
            time.sleep(_POLL)
        return code

    def send_signal(self, number: int) -> None:
        """Send a signal, as long as it runs."""
        if self.poll() is None:
            os.killpg(self.pid, number)  # it leads its own group

    def kill(self) -> None:
        """Kill it, and all that it started."""
        self.send_signal(signal.SIGKILL)

    def terminate(self) -> None:
        """Ask it to end."""
        self.send_signal(signal.SIGTERM)


def _connect(address: str) -> socket.socket:
    last, refused = time.monotonic() + START, 0.0
    while True:
        link = socket.socket(socket.AF_UNIX)
        try:
            link.connect(address)
        except FileNotFoundError:  # not that far yet: its socket is the first thing it makes
            link.close()
            if time.monotonic() > last:
                raise RuntimeError("the process that forks kernels does not answer") from None
            time.sleep(0.02)
        except ConnectionRefusedError:
            link.close()
            refused = refused or time.monotonic()
            if time.monotonic() > refused + REFUSED:
                raise _died() from None
            time.sleep(0.02)
        else:
            return link


class ForkedProvisioner(LocalProvisioner):
    """Launches a kernel by asking a nursery for it."""

    async def launch_kernel(self, cmd: list[str], **settings: Any) -> Any:
        """Fork a kernel with the arguments that ``cmd`` has for the launcher."""
        after = cmd.index("ipykernel_launcher") + 1
        self.cwd = str(settings.get("cwd") or os.getcwd())  # noqa: PTH109
        process = ForkedProcess(
            {
                "argv": cmd[after:],
                "cwd": self.cwd,
                "env": dict(settings.get("env") or os.environ),
                "memory": getattr(self.parent, "memory_limit", 0),
            }
        )
        self.process = process  # type: ignore[assignment]
        self.pid = self.pgid = process.pid  # it leads its own group
        return self.connection_info


class ForkedClient(AsyncKernelClient):
    """A client that does not wait for what cannot happen to a kernel on this machine."""

    def start_channels(
        self,
        shell: bool = True,
        iopub: bool = True,
        stdin: bool = True,
        hb: bool = False,
        control: bool = True,
    ) -> None:
        """Start the channels, but no heartbeat: the nursery tells of a kernel that dies."""
        super().start_channels(shell, iopub, stdin, hb, control)

    async def _async_wait_for_ready(self, timeout: float | None = None) -> None:
        """Wait until the kernel answers on both channels, asking again every half second."""
        last = time.monotonic() + (timeout if timeout is not None else float("inf"))
        while True:
            asked = self.kernel_info()
            if await self._heard(asked):
                return
            if not await self._async_is_alive():
                raise RuntimeError("Kernel died before replying to kernel_info")
            if time.monotonic() > last:
                raise RuntimeError(f"Kernel didn't respond in {timeout:g} seconds")

    async def _heard(self, asked: str) -> bool:
        """Whether reply and idle status of a request came in; what else came is from the start."""
        try:
            while True:
                reply = await self.shell_channel.get_msg(timeout=0.5)
                if reply["parent_header"].get("msg_id") == asked:
                    break
            while True:
                message = await self.iopub_channel.get_msg(timeout=0.5)
                idle = message["content"].get("execution_state") == "idle"
                if idle and message["parent_header"].get("msg_id") == asked:
                    break
        except Empty:
            return False
        self._handle_kernel_info_reply(reply)
        return True

    wait_for_ready = _async_wait_for_ready


class ForkedKernelManager(AsyncKernelManager):
    """Manages a kernel that a nursery forks; ``memory_limit`` (bytes) is none where it is zero."""

    client_factory = Type(ForkedClient)
    memory_limit = 0

    async def _async_pre_start_kernel(self, **settings: Any) -> Any:
        self.kernel_id = self.kernel_id or settings.pop("kernel_id", "forked")
        self.transport = "ipc"  # nobody else on the machine can listen in, as they can to a port
        self.ip = str(Path(nursery_address()).parent / f"{os.getpid()}-{next(_count)}")
        if self.provisioner is None:
            self.provisioner = ForkedProvisioner(
                parent=self, kernel_id=self.kernel_id, kernel_spec=self.kernel_spec
            )
        return await super()._async_pre_start_kernel(**settings)

    pre_start_kernel = _async_pre_start_kernel

    async def _async_finish_shutdown(
        self, waittime: float | None = None, pollinterval: float = _POLL, restart: bool = False
    ) -> None:
        await super()._async_finish_shutdown(waittime, pollinterval, restart)

    finish_shutdown = _async_finish_shutdown


def cannot_fork(kernel_name: str) -> str:
    """Say why a kernel of this name cannot be forked here; an empty string where it can."""
    if sys.platform in {"win32", "darwin"}:
        return "on this system a process that has threads and libraries loaded cannot be forked"
    try:
        spec = KernelSpecManager().get_kernel_spec(kernel_name)
    except NoSuchKernel:
        return ""  # the default engine says it better
    if "ipykernel_launcher" not in spec.argv:
        return f"kernel {kernel_name} is not started by ipykernel"
    if spec.argv[0] in {"python", "python3", f"python3.{sys.version_info.minor}"}:
        return ""  # jupyter_client takes these for the interpreter it runs on
    program = shutil.which(spec.argv[0]) or spec.argv[0]
    if Path(program).resolve() != Path(sys.executable).resolve():
        return f"kernel {kernel_name} runs on {program}, not on {sys.executable}"
    return ""
