"""Whether the demo can be served where it was asked to be."""

import errno
import socket

HOST = "127.0.0.1"


def why_not_served(port: int) -> str:
    """Why nothing can be served on that port of this machine, with the mend; empty where it can."""
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        # As the server itself does, so that a port just given up by an earlier demo is not taken for a busy one.
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((HOST, port))
        except OSError as error:
            if error.errno == errno.EADDRINUSE:
                return f"Port {port} is taken by another program. Choose another: manage.py demo --port {_other(port)}"
            return f"Port {port} can't be used ({error.strerror}). Choose another: manage.py demo --port {_other(port)}"
    return ""


def _other(port: int) -> int:
    return port + 1 if 1024 <= port < 65535 else 8001
