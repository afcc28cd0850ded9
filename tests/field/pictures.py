"""Pictures for tests, each of another colour."""

import struct
import zlib


def picture(n: int, width: int = 64, height: int = 48) -> bytes:
    """A PNG of one colour (W3C PNG specification: signature, IHDR, IDAT, IEND)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    row = b"\0" + bytes([n * 37 % 256, n * 91 % 256, n * 5 % 256]) * width
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(row * height)) + chunk(b"IEND", b"")
    )
