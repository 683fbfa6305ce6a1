"""The nursery: a process that has everything loaded and forks a process off whenever asked.

It runs as ``python -m rebuildbook.batch.nursery``, has one thread and never runs a notebook
itself, so that each kernel begins in the same state and none sees another's. A client connects to
its socket for each process and sends one line of JSON: folder, environment, limit of memory, and
either the arguments of a kernel or a function to call with the file that came with the line. It
reads back one line with the process id, and one more with the exit code when that process has
ended. A process whose client hangs up is killed; so are all when the nursery's own standard input
closes, or when it dies.
"""

from __future__ import annotations

import atexit
import contextlib
import ctypes
import gc
import importlib
import json
import os
import resource
import selectors
import shutil
import signal
import socket
import sys
import threading
from typing import Any

_DEATH_SIGNAL, _NAME = 1, 15  # PR_SET_PDEATHSIG and PR_SET_NAME of Linux's prctl
WORKER, KERNEL = "job worker", "job kernel"  # what a list of processes shows
_LINE = 1 << 20  # bytes; a request holds an environment


def main(path: str, preload: list[str]) -> None:
    """Load ``preload``, then serve ``path``.

    "module" is imported; the function of "module:function" is called, that of
    "module:function=text" with the text.
    """
    with socket.socket(socket.AF_UNIX) as listener:
        listener.bind(path)
        listener.listen(64)
        for name in preload:
            _load(name)
        gc.collect()
        gc.freeze()  # what is loaded is never looked at again, and its pages stay shared
        _Server(listener).serve()
    shutil.rmtree(os.path.dirname(path), ignore_errors=True)  # noqa: PTH120
    os._exit(0)  # nobody waits for it to be taken apart


def _load(name: str) -> None:
    place, told, text = name.partition("=")
    module, _, function = place.partition(":")
    try:
        loaded = importlib.import_module(module)
        if function:
            getattr(loaded, function)(*([text] if told else []))
    except Exception as error:  # the notebook that needs it will say so, in its own words
        sys.stderr.write(f"not loaded beforehand: {name}: {error}\n")


class _Server:
    def __init__(self, listener: socket.socket) -> None:
        self.listener = listener
        self.waked, self.waker = os.pipe()
        for end in (self.waked, self.waker):
            os.set_blocking(end, False)
        self.selector = selectors.DefaultSelector()
        self.clients: dict[int, socket.socket] = {}

    def serve(self) -> None:
        """Serve until the standard input closes."""
        self.selector.register(self.listener, selectors.EVENT_READ)
        self.selector.register(self.waked, selectors.EVENT_READ)
        self.selector.register(0, selectors.EVENT_READ)
        signal.signal(signal.SIGCHLD, lambda *_: None)
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # a terminal sends it to all; the client acts
        signal.set_wakeup_fd(self.waker)
        while True:
            for key, _ in self.selector.select():
                if key.fileobj is self.listener:
                    self.accept()
                elif key.fileobj == self.waked:
                    os.read(self.waked, 4096)
                    self.reap()
                elif key.fileobj == 0:
                    if not os.read(0, 4096):
                        self.end()
                        return
                else:
                    self.hung_up(key.data)

    def accept(self) -> None:
        """Fork a process for a client; in the child this never comes back."""
        client, _ = self.listener.accept()
        client.settimeout(10.0)
        passed: list[int] = []
        try:
            request = _read(client, passed)
            pid = os.fork()
            if pid == 0:
                _become(self, client, request, passed)
        except (OSError, ValueError):
            client.close()
            return
        finally:
            for end in passed:
                os.close(end)
        with contextlib.suppress(OSError):  # where it has gone, a select tells so too
            client.sendall(f"{pid}\n".encode())
        self.clients[pid] = client
        self.selector.register(client, selectors.EVENT_READ, pid)

    def reap(self) -> None:
        """Tell clients of processes that have ended."""
        while True:
            try:
                pid, status = os.waitpid(-1, os.WNOHANG)
            except ChildProcessError:
                return
            if pid == 0:
                return
            client = self.clients.pop(pid, None)
            if client is None:
                continue
            self.selector.unregister(client)
            with contextlib.suppress(OSError):
                client.sendall(f"{os.waitstatus_to_exitcode(status)}\n".encode())
            client.close()

    def hung_up(self, pid: int) -> None:
        """A client of a process that still runs has nothing more to say: it has gone."""
        client = self.clients.get(pid)
        if client is None:
            return
        try:
            gone = not client.recv(4096)
        except OSError:
            gone = True
        if gone:
            del self.clients[pid]
            self.selector.unregister(client)
            client.close()
            _kill(pid)

    def end(self) -> None:
        """Kill all that were forked."""
        for pid in self.clients:
            _kill(pid)


def _kill(pid: int) -> None:
    with contextlib.suppress(ProcessLookupError):
        os.killpg(pid, signal.SIGKILL)


def _read(client: socket.socket, passed: list[int]) -> dict[str, Any]:
    """Read a request; the files that come with it go to ``passed``."""
    line = b""
    while not line.endswith(b"\n"):
        more, files, _, _ = socket.recv_fds(client, _LINE, 1)
        passed += files
        line += more
        if not more or len(line) > _LINE:
            raise ValueError("not a request")
    request: dict[str, Any] = json.loads(line)
    return request


def _become(
    server: _Server, client: socket.socket, request: dict[str, Any], passed: list[int]
) -> None:
    """Leave all that was the nursery's behind, be what was asked for, and end with it."""
    code = 1
    try:
        signal.set_wakeup_fd(-1)
        signal.signal(signal.SIGCHLD, signal.SIG_DFL)
        signal.signal(signal.SIGINT, signal.default_int_handler)
        os.setsid()
        _tell_system(WORKER if "call" in request else KERNEL)
        server.selector.close()
        for end in (server.listener, client, *server.clients.values()):
            end.close()
        os.close(server.waked)
        os.close(server.waker)
        null = os.open(os.devnull, os.O_RDONLY)
        os.dup2(null, 0)
        os.close(null)
        os.environ.clear()
        os.environ.update(request["env"])
        if request["cwd"]:
            os.chdir(request["cwd"])
        if request["memory"]:
            resource.setrlimit(resource.RLIMIT_DATA, (request["memory"], request["memory"]))
        _own_chance()
        if "call" in request:
            module, _, function = request["call"].partition(":")
            getattr(importlib.import_module(module), function)(*passed)
        else:
            _be_kernel(request["argv"])
        code = 0
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else int(end.code is not None)
    except BaseException:
        sys.excepthook(*sys.exc_info())
    finally:
        _leave(code)


def _be_kernel(arguments: list[str]) -> None:
    # it hooks itself into the shell that there is when it is loaded
    sys.modules.pop("matplotlib_inline.backend_inline", None)
    sys.argv = ["ipykernel_launcher.py", *arguments]
    from ipykernel.kernelapp import launch_new_instance  # noqa: PLC0415

    # the kernel ends with its parent; the default was read when ipykernel was loaded
    parent = str(os.getppid())
    os.environ["JPY_PARENT_PID"] = parent
    launch_new_instance([*arguments, f"--IPKernelApp.parent_handle={parent}"])


def _tell_system(name: str) -> None:
    """Die with the parent; bear a name of one's own."""
    if sys.platform == "linux":
        system = ctypes.CDLL(None)
        system.prctl(_DEATH_SIGNAL, signal.SIGKILL)
        system.prctl(_NAME, name.encode())


def _own_chance() -> None:
    """Seed what has no seed of its own yet, as a process begun by itself would."""
    numpy = sys.modules.get("numpy")
    if numpy is not None:
        numpy.random.seed()


def _leave(code: int) -> None:
    """End as an interpreter ends, but for taking apart what is loaded."""
    try:
        threading._shutdown()  # type: ignore[attr-defined]
        atexit._run_exitfuncs()
        sys.stdout.flush()
        sys.stderr.flush()
    finally:
        os._exit(code)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2:])
