"""A font file packed as WOFF 1.0 (W3C Recommendation, 2012): the same tables, each compressed."""

import struct
import zlib

_HEADER = 44
_ENTRY = 20


def packed(font: bytes) -> bytes:
    """The OpenType file as WOFF; same file, same bytes."""
    flavour, count = struct.unpack_from(">4sH", font)
    entries = [struct.unpack_from(">4sIII", font, 12 + 16 * i) for i in range(count)]
    directory, body, at = b"", b"", _HEADER + _ENTRY * count
    for tag, checksum, offset, length in entries:
        table = font[offset : offset + length]
        small = zlib.compress(table, 9)
        data = small if len(small) < length else table
        directory += struct.pack(">4sIIII", tag, at + len(body), len(data), length, checksum)
        body += data + bytes(-len(data) % 4)
    whole = 12 + 16 * count + sum(length + -length % 4 for _, _, _, length in entries)
    header = struct.pack(">4s4sIHHIHHIIIII", b"wOFF", flavour, at + len(body), count, 0, whole, 1, 0, 0, 0, 0, 0, 0)
    return header + directory + body
