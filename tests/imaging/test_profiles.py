"""Embedded color profiles."""

import io
import struct

import numpy as np
import pytest
from PIL import Image, ImageCms

from laydown.color.lab import lab_from_xyz
from laydown.errors import BadFileError
from laydown.imaging.profiles import read_profile, usual_profile


def srgb() -> bytes:
    """Return a profile that the color engine makes by itself."""
    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def tag(name: bytes, data: bytes) -> tuple[bytes, bytes]:
    """Return a tag of a profile."""
    return name, data + b"\0" * (-len(data) % 4)


def made_profile(kind: int, numbers: list[float], *, device: bytes = b"scnr") -> bytes:
    """Return a profile with curves given by a function of the standard."""
    curve = b"para" + b"\0" * 4 + struct.pack(">HH", kind, 0)
    curve += b"".join(struct.pack(">i", round(65536 * v)) for v in numbers)
    points = ((0.4361, 0.2225, 0.0139), (0.3851, 0.7169, 0.0971), (0.1431, 0.0606, 0.7141))
    tags = [tag(b"desc", b"desc\0\0\0\0" + struct.pack(">I", 5) + b"Test\0" + b"\0" * 79)]
    tags += [tag(b"wtpt", xyz((0.9642, 1.0, 0.8249)))]
    for color, point in zip((b"r", b"g", b"b"), points, strict=True):
        tags += [tag(color + b"XYZ", xyz(point)), tag(color + b"TRC", curve)]
    start = 128 + 4 + 12 * len(tags)
    table, body = struct.pack(">I", len(tags)), b""
    for name, data in tags:
        table += struct.pack(">4sII", name, start + len(body), len(data))
        body += data
    head = bytearray(128)
    head[0:4] = struct.pack(">I", start + len(body))
    head[8:12], head[12:16], head[16:20], head[20:24] = b"\x02\x40\0\0", device, b"RGB ", b"XYZ "
    head[36:40] = b"acsp"
    head[68:80] = b"".join(struct.pack(">i", round(65536 * v)) for v in (0.9642, 1.0, 0.8249))
    return bytes(head) + table + body


def xyz(point: tuple[float, float, float]) -> bytes:
    """Return a tag's data with one color."""
    return b"XYZ \0\0\0\0" + b"".join(struct.pack(">i", round(65536 * v)) for v in point)


def by_engine(profile: bytes, colors: np.ndarray) -> np.ndarray:
    """Return Lab by the color engine, in whole numbers as it gives them."""
    transform = ImageCms.buildTransform(
        ImageCms.ImageCmsProfile(io.BytesIO(profile)), ImageCms.createProfile("LAB"), "RGB", "LAB"
    )
    coded = np.asarray(ImageCms.applyTransform(Image.fromarray(colors[None]), transform))[0]
    signed = np.where(coded[:, 1:] > 127, coded[:, 1:].astype(float) - 256, coded[:, 1:])
    return np.concatenate([coded[:, :1] / 2.55, signed], axis=-1)


COLORS = np.random.default_rng(1).integers(0, 256, (200, 3), dtype=np.uint8)


def test_srgb_agrees_with_the_color_engine() -> None:
    """Curves and matrix give what an independent engine gives, within its rounding to 8 bits."""
    profile = read_profile(srgb(), source="file")
    mine = lab_from_xyz(profile.linear(COLORS) @ profile.matrix)
    assert np.abs(mine - by_engine(srgb(), COLORS)).max() < 0.75
    assert not profile.measured


def test_a_picture_without_a_profile_is_taken_for_srgb() -> None:
    """The usual profile is that of IEC 61966-2-1."""
    theirs = read_profile(srgb(), source="file")
    mine = usual_profile()
    assert np.abs(mine.curves - theirs.curves).max() < 2e-3
    assert np.abs(mine.matrix - theirs.matrix).max() < 0.1


@pytest.mark.parametrize(
    ("kind", "numbers"),
    [
        (0, [2.2]),
        (1, [2.2, 0.95, 0.05]),
        (2, [2.2, 0.9, 0.1, 0.01]),
        (3, [2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045]),
        (4, [2.0, 0.89, 0.1, 0.4, 0.1, 0.01, 0.005721]),
    ],
)
def test_curves_given_by_a_function_agree_with_the_color_engine(
    kind: int, numbers: list[float]
) -> None:
    """Each of the five functions of the standard is read as the engine reads it."""
    data = made_profile(kind, numbers)
    profile = read_profile(data, source="file")
    mine = lab_from_xyz(profile.linear(COLORS) @ profile.matrix)
    inside = (mine[:, 0] < 99) & (np.abs(mine[:, 1:]) < 120).all(axis=1)
    assert np.abs(mine - by_engine(data, COLORS))[inside].max() < 1.2


def test_a_profile_made_for_a_scanner_says_so() -> None:
    """Only the profile of an input device is trusted without being asked for."""
    assert read_profile(made_profile(0, [2.2]), source="file").measured
    assert not read_profile(made_profile(0, [2.2], device=b"mntr"), source="file").measured


@pytest.mark.parametrize("data", [b"", b"\0" * 200, srgb()[:150], srgb()[:40] + b"\xff" * 400])
def test_a_broken_profile_gets_one_sentence(data: bytes) -> None:
    """What is no profile is told, and nothing is guessed in its place."""
    with pytest.raises(BadFileError, match="profile can't be read"):
        read_profile(data, source="file")


@pytest.mark.parametrize(
    "profile",
    [
        made_profile(3, [32000.0, 32000.0, 0.0, 0.0, 0.0]),
        made_profile(0, [1.0]).replace(
            xyz((0.3851, 0.7169, 0.0971)), xyz((0.4361, 0.2225, 0.0139))
        ),
    ],
    ids=["a curve without end", "two primaries alike"],
)
def test_curves_and_primaries_that_can_not_be_are_refused(profile: bytes) -> None:
    """A curve has a number for every step, and three primaries are three colors."""
    with pytest.raises(BadFileError, match="can't be read"):
        read_profile(profile, source="it")


def test_tables_that_can_not_be_used_are_told_when_they_are_read() -> None:
    """A profile by tables that are cut off is refused by itself, and not amid a picture."""
    head = made_profile(0, [1.0]).replace(b"rXYZ", b"A2B0")
    with pytest.raises(BadFileError, match="can't be read"):
        read_profile(head, source="it")
