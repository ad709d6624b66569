"""A file that someone gives a task, and one that is written for them."""

import os
from dataclasses import dataclass
from pathlib import Path

from laydown.errors import BadFileError


@dataclass(frozen=True, slots=True)
class GivenFile:
    """What a file holds, and what it is called: a path, or the name that a browser sent."""

    content: bytes
    source: str


def write_file(path: Path, content: bytes) -> None:
    """Write a file, and its folder, so that it is there whole or as it was before.

    Raises
    ------
    BadFileError
        Where it can't be written.
    """
    part = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        try:
            part.write_bytes(content)
            part.replace(path)
        finally:
            part.unlink(missing_ok=True)
    except OSError as error:
        raise BadFileError(
            f"{path} can't be written: {error.strerror}.",
            hint="Check the folder, your rights, and the room on the disk, or name another place.",
            command="-o",
        ) from error
