"""The process that kernels are forked from: it imports, waits, forks, and tells who ended.

Run as `python -m sitefare.warm.nursery DESCRIPTOR`. Over that socket it takes one JSON object a
line, {"argv", "env", "cwd"}, answers {"pid"} and later {"ended", "code"}. It starts no thread, no
event loop and no drawing, which a fork would break; when the socket closes it ends.
"""

import gc
import importlib
import json
import os
import random
import select
import signal
import socket
import sys
from pathlib import Path
from typing import Any

#: Modules imported before any kernel is asked for.
IMPORTED = (
    "ipykernel.kernelapp",
    "matplotlib_inline",
    "numpy",
    "pandas",
    "altair",
    "scipy.stats",
    "scipy.optimize",
    "sitefare.outputs.cells",
    "sitefare.outputs.comparison",
    "sitefare.outputs.explorer",
    "sitefare.outputs.proposal",
    "sitefare.outputs.uncertain",
)

#: How long ended kernels may wait to be told of. [s]
PAUSE = 0.05

#: How long a forked kernel may take to listen before others are forked. [s]
LISTENS = 10.0

#: Signals whose handling a kernel takes up as any new process does.
FRESH = (signal.SIGINT, signal.SIGTERM, signal.SIGCHLD)


def prepare() -> None:
    """Import what kernels need; freeze it, so that a fork shares its memory."""
    for name in IMPORTED:
        try:
            importlib.import_module(name)
        except ImportError as error:
            sys.stderr.write(f"sitefare: {name} is not imported beforehand: {error}\n")
    gc.collect()
    gc.freeze()


def serve(link: socket.socket) -> None:
    """Fork a kernel for each line; tell of those that end. Returns when the link closes."""
    kernels: set[int] = set()
    waiting = b""
    while True:
        ready, _, _ = select.select([link], [], [], PAUSE if kernels else None)
        for kernel in list(kernels):
            ended, status = os.waitpid(kernel, os.WNOHANG)
            if ended:
                kernels.discard(kernel)
                code = os.waitstatus_to_exitcode(status)
                tell(link, {"ended": kernel, "code": code})
        if not ready:
            continue
        found = link.recv(65536)
        if not found:
            return
        waiting += found
        *lines, waiting = waiting.split(b"\n")
        for line in lines:
            kernel = born(link, json.loads(line))
            kernels.add(kernel)
            tell(link, {"pid": kernel})


def born(link: socket.socket, asked: dict[str, Any]) -> int:
    """Fork a kernel; return its process when it listens, so that nobody calls it in vain."""
    hears, tells = os.pipe()
    kernel = os.fork()
    if kernel == 0:
        os.close(hears)
        be_kernel(link, asked, tells)
    os.close(tells)
    # One that ends before it listens closes its pipe too.
    select.select([hears], [], [], LISTENS)
    os.close(hears)
    return kernel


def tell(link: socket.socket, what: dict[str, int]) -> None:
    """Send one line."""
    link.sendall(json.dumps(what).encode() + b"\n")


def be_kernel(link: socket.socket, asked: dict[str, Any], tells: int) -> None:
    """Become a kernel: a session, signals, folder, environment and chance of its own. Ends."""
    code = 1
    try:
        os.setsid()
        link.close()
        for one in FRESH:
            signal.signal(one, signal.SIG_DFL)
        signal.signal(signal.SIGINT, signal.default_int_handler)
        os.environ.clear()
        os.environ.update(asked["env"])
        if asked["cwd"]:
            os.chdir(asked["cwd"])
        null = os.open(os.devnull, os.O_RDONLY)
        os.dup2(null, 0)
        os.close(null)
        random.seed()
        importlib.import_module("numpy").random.seed()
        gc.unfreeze()
        # A kernel ends when its parent, the nursery, is no more.
        parent = os.getppid()
        os.environ["JPY_PARENT_PID"] = str(parent)
        sys.argv = [*asked["argv"], f"--IPKernelApp.parent_handle={parent}"]
        sys.path[0] = str(Path.cwd())
        kernel = importlib.import_module("ipykernel.kernelapp").IPKernelApp.instance()
        kernel.initialize(sys.argv[1:])
        os.close(tells)
        kernel.start()
        code = 0
    except SystemExit as stop:
        code = stop.code if isinstance(stop.code, int) else 0 if stop.code is None else 1
    except BaseException:  # noqa: BLE001 nothing may return into the process that forks
        sys.excepthook(*sys.exc_info())
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)


def main() -> None:
    """Serve over the socket whose descriptor is given."""
    # The process that asks may be interrupted or stopped by keys; kernels are ended by it alone.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    link = socket.socket(fileno=int(sys.argv[1]))
    prepare()
    serve(link)


if __name__ == "__main__":
    main()
