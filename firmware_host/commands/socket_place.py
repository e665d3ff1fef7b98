"""Where a daemon's socket is: named itself, named by a bench file, or where it usually is."""

from __future__ import annotations

from pathlib import Path


def socket_path(socket: Path | None, bench: Path | None) -> Path:
    """Find the daemon's socket; a socket that is named needs no bench file to be loaded."""
    if socket is not None:
        return socket
    # Loaded only here: the panel is on the screen a fifth sooner without it.
    from firmware_host.config.load import load_bench
    from firmware_host.config.schema import SocketTable

    if bench is not None:
        return bench.parent / load_bench(bench).socket.path
    return Path(SocketTable().path)
