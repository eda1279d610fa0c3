"""Write small matrix profiles for tests (ICC.1:2022, section 8.3: three-component matrix-based input)."""

from __future__ import annotations

import struct

import numpy as np

D50 = (0.9642, 1.0, 0.8249)  # ICC.1:2022, the profile connection space's white
D65_XY = (0.3127, 0.3290)
P3 = ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060))  # SMPTE EG 432-1 primaries
SRGB = ((0.640, 0.330), (0.300, 0.600), (0.150, 0.060))  # IEC 61966-2-1


def to_xyz(primaries: tuple[tuple[float, float], ...]) -> np.ndarray:
    """Linear RGB -> XYZ, white D65, by hand rather than by the code under test."""
    columns = np.array([[x / y, 1.0, (1 - x - y) / y] for x, y in primaries]).T
    white = np.array([D65_XY[0] / D65_XY[1], 1.0, (1 - D65_XY[0] - D65_XY[1]) / D65_XY[1]])
    return columns * np.linalg.solve(columns, white)


def matrix_profile(primaries: tuple[tuple[float, float], ...]) -> bytes:
    """Give a version 4 RGB profile with these primaries, white D65 and the sRGB curve."""
    bradford = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
    rgb = to_xyz(primaries)
    gain = (bradford @ np.array(D50)) / (bradford @ rgb.sum(axis=1))
    adapted = np.linalg.solve(bradford, gain[:, None] * (bradford @ rgb))

    def fixed(value: float) -> bytes:
        return struct.pack(">i", round(value * 65536))

    def text(words: str) -> bytes:
        coded = words.encode("utf-16-be")
        return b"mluc" + struct.pack(">IIIHHII", 0, 1, 12, 0x656E, 0x5553, len(coded), 28) + coded

    def xyz(values: np.ndarray) -> bytes:
        return b"XYZ \0\0\0\0" + b"".join(fixed(float(v)) for v in values)

    # parametric curve, function type 3: the sRGB curve (ICC.1:2022, table 68)
    curve = b"para\0\0\0\0" + struct.pack(">HH", 3, 0)
    curve += b"".join(fixed(v) for v in (2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045))
    tags = {
        b"desc": text("test"),
        b"cprt": text("none"),
        b"wtpt": xyz(np.array(D50)),
        b"rXYZ": xyz(adapted[:, 0]),
        b"gXYZ": xyz(adapted[:, 1]),
        b"bXYZ": xyz(adapted[:, 2]),
        b"rTRC": curve,
        b"gTRC": curve,
        b"bTRC": curve,
    }
    at = 128 + 4 + 12 * len(tags)
    table, body = struct.pack(">I", len(tags)), b""
    for name, data in tags.items():
        padded = data + b"\0" * (-len(data) % 4)
        table += name + struct.pack(">II", at + len(body), len(data))
        body += padded
    head = struct.pack(">I4sI4s4s4s", at + len(body), b"\0\0\0\0", 0x04300000, b"mntr", b"RGB ", b"XYZ ")
    head += struct.pack(">6H", 2026, 1, 1, 0, 0, 0) + b"acsp" + b"\0" * 28
    head += b"".join(fixed(v) for v in D50)
    return head.ljust(128, b"\0") + table + body
