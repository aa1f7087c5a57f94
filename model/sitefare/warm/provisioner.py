"""Jupyter's way to a forked kernel: the provisioner that the kernel `sitefare_warm` names."""

import os
from threading import Lock
from typing import Any, cast

from jupyter_client.connect import KernelConnectionInfo
from jupyter_client.provisioning.local_provisioner import LocalProvisioner

from sitefare.warm.forked import Nursery, NurseryError

_lock = Lock()
_nurseries: dict[int, Nursery] = {}


def nursery() -> Nursery:
    """Return this process's nursery, started when first asked for or when it has ended."""
    with _lock:
        found = _nurseries.get(os.getpid())
        if found is None or not found.alive:
            found = _nurseries[os.getpid()] = Nursery()
        return found


class WarmProvisioner(LocalProvisioner):
    """Starts kernels by forking; in the ordinary way where that fails."""

    async def launch_kernel(self, cmd: list[str], **kwargs: Any) -> KernelConnectionInfo:  # noqa: ANN401
        """Launch a kernel with a command."""
        if not hasattr(os, "fork") or "ipykernel_launcher" not in cmd:
            return await super().launch_kernel(cmd, **kwargs)
        argv = cmd[cmd.index("ipykernel_launcher") :]
        environment = kwargs.get("env") or os.environ
        try:
            process = nursery().fork(argv, environment, str(kwargs.get("cwd") or ""))
        except (NurseryError, OSError):
            return await super().launch_kernel(cmd, **kwargs)
        # It answers what Jupyter asks of a process that it started itself.
        self.process = cast("Any", process)
        self.pid = self.pgid = process.pid
        return self.connection_info
