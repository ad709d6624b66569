"""Digital negatives of our own making, read by their own matrices."""

import struct
import sys

import numpy as np
import pytest

from laydown.app.sheets.reading import profile_of
from laydown.bare_picture import bare
from laydown.color.lab import WHITE_D50, ciede2000, lab_from_xyz
from laydown.errors import BadFileError
from laydown.imaging.chart import chart_xyz
from laydown.imaging.development import usual_development
from laydown.imaging.files import open_photographs

PATCH = 60
D50_TO_CAMERA = np.array([[0.9, -0.1, 0.0], [-0.4, 1.2, 0.15], [0.02, 0.1, 0.7]])
"""From XYZ to the signal of an invented camera, as a negative's ColorMatrix1 says it."""
SHORT, LONG, RATIONAL, SIGNED, ASCII, BYTE = 3, 4, 5, 10, 2, 1
WHITE = 60_000


def negative(xyz: np.ndarray, *, told: str = "") -> bytes:
    """Return a digital negative of patches, shape (rows, columns, 3), and what else it tells."""
    signal = np.maximum(xyz / 100 @ D50_TO_CAMERA.T, 0)
    balance = D50_TO_CAMERA @ (WHITE_D50 / 100)
    full = np.kron(signal, np.ones((PATCH, PATCH, 1))) / balance.max()
    mosaic = full[..., 1].copy()
    mosaic[::2, ::2], mosaic[1::2, 1::2] = full[::2, ::2, 0], full[1::2, 1::2, 2]
    pixels = np.round(np.clip(0.9 * WHITE * mosaic, 0, 65535)).astype("<u2")
    height, width = pixels.shape

    def rationals(values: np.ndarray) -> list[int]:
        return [part for v in values.ravel() for part in (round(float(v) * 10_000), 10_000)]

    entries = [
        (254, LONG, [0]), (256, LONG, [width]), (257, LONG, [height]), (258, SHORT, [16]),
        (259, SHORT, [1]), (262, SHORT, [32803]), (271, ASCII, list(b"Own\0")),
        (272, ASCII, list(b"Invented\0")), (273, LONG, [0]), (274, SHORT, [1]),
        (277, SHORT, [1]), (278, LONG, [height]), (279, LONG, [pixels.nbytes]),
        (284, SHORT, [1]), (33421, SHORT, [2, 2]), (33422, BYTE, [0, 1, 1, 2]),
        (50706, BYTE, [1, 4, 0, 0]), (50708, ASCII, list(f"Invented {told}\0".encode())),
        (50714, LONG, [0]), (50717, LONG, [WHITE]), (50721, SIGNED, rationals(D50_TO_CAMERA)),
        (50728, RATIONAL, rationals(balance / balance.max())), (50778, SHORT, [23]),
    ]  # fmt: skip
    codes = {SHORT: "H", LONG: "I", RATIONAL: "I", SIGNED: "i", ASCII: "B", BYTE: "B"}
    after = 8 + 2 + 12 * len(entries) + 4
    packed = [struct.pack(f"<{len(v)}{codes[kind]}", *v) for _, kind, v in entries]
    begin = after + sum(len(p) + len(p) % 2 for p in packed if len(p) > 4)
    lines, rest = b"", b""
    for (tag, kind, values), content in zip(entries, packed, strict=True):
        count = len(values) // (2 if kind in (RATIONAL, SIGNED) else 1)
        value = struct.pack("<I", begin) if tag == 273 else content
        if len(value) > 4:
            value = struct.pack("<I", after + len(rest))
            rest += content + b"\0" * (len(content) % 2)
        lines += struct.pack("<HHI", tag, kind, count) + value.ljust(4, b"\0")
    head = b"II*\0" + struct.pack("<IH", 8, len(entries)) + lines + b"\0" * 4
    return head + rest + pixels.tobytes()


CHART = chart_xyz().reshape(4, 6, 3)


def test_a_negative_is_read_by_its_own_matrices() -> None:
    """Colors come out as they were, but for 8 bits and a narrow RGB, with no curve of a phone's."""
    pytest.importorskip("rawpy")
    (photograph,) = open_photographs(negative(CHART), source="sheet.dng")
    assert photograph.raw
    profile = profile_of(photograph)
    assert profile.raw
    middles = photograph.pixels[PATCH // 2 :: PATCH, PATCH // 2 :: PATCH][:4, :6]
    seen = profile.linear(middles) @ profile.matrix
    seen = seen * (CHART[3, 0, 1] / seen[3, 0, 1])
    assert np.median(ciede2000(lab_from_xyz(seen), lab_from_xyz(CHART))) < 1.0
    assert any("own matrices" in note for note in photograph.notes)


def test_what_a_negative_tells_of_its_pixels_stays_when_it_is_handed_on() -> None:
    """What it tells of its camera goes, and it is seen as before."""
    pytest.importorskip("rawpy")
    content = negative(CHART, told="of Mara")
    handed = bare(content)
    assert b"Mara" not in handed
    (before,), (after,) = (open_photographs(c, source="a.dng") for c in (content, handed))
    assert np.array_equal(before.pixels, after.pixels)


def test_a_broken_negative_gets_one_sentence() -> None:
    """One that ends early is told as broken; a small one as too small."""
    pytest.importorskip("rawpy")
    with pytest.raises(BadFileError, match="is broken"):
        list(open_photographs(negative(CHART)[:400], source="a.dng"))
    with pytest.raises(BadFileError, match="only 60 × 60 pixels"):
        list(open_photographs(negative(CHART[:1, :1]), source="a.dng"))


def test_what_reads_negatives_is_named_where_it_is_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    """A negative isn't taken for a gray TIFF: the sentence names the extra."""
    monkeypatch.setitem(sys.modules, "rawpy", None)
    with pytest.raises(BadFileError, match="raw file") as raised:
        list(open_photographs(negative(CHART), source="sheet.dng"))
    assert raised.value.command == 'pip install "laydown[raw]"'


def test_nothing_is_taken_off_that_no_camera_put_on() -> None:
    """A raw file is expected to be straight, and its matrices to be nearly right."""
    (_, usual), (mean, raw) = usual_development(), usual_development(raw=True)
    assert not mean.any()
    assert (np.diag(raw)[:16] < np.diag(usual)[:16]).all()
