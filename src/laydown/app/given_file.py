"""A file that someone gives a task: its content, and its name for messages."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class GivenFile:
    """What a file holds, and what it is called: a path, or the name that a browser sent."""

    content: bytes
    source: str
