"""Files to double-click: one that opens the bench, one that closes it, for each kind of computer.

Each holds the command as it is on this computer, with full paths, so it works for this computer
alone. What was never run on its own system says so in its first lines.

References
----------
Desktop Entry Specification 1.5, freedesktop.org: keys, and how arguments are quoted (section "The
Exec key"). The rules of the Windows command interpreter are from memory.
"""

import re
import shlex
from collections.abc import Callable, Sequence
from enum import StrEnum

from laydown.errors import BadFileError

OPEN, CLOSE = "Open the bench", "Put the pencils away"
NOT_RUN = "Written by the rules of {system}, but not yet run on one. If it fails, please tell us."


class System(StrEnum):
    """Kinds of computer that differ in how a file is double-clicked."""

    LINUX = "Linux"
    MAC = "macOS"
    WINDOWS = "Windows"


Shortcut = tuple[str, bytes]
"""A file to double-click: its name and its content."""


def system_of(platform: str) -> System:
    """Return the kind of computer that Python calls by a name.

    >>> system_of("darwin").value, system_of("win32").value, system_of("freebsd14").value
    ('macOS', 'Windows', 'Linux')
    """
    return {"darwin": System.MAC, "win32": System.WINDOWS}.get(platform, System.LINUX)


def shortcuts(
    opening: Sequence[str], closing: Sequence[str], *, system: System, icon: str = ""
) -> tuple[Shortcut, Shortcut]:
    """Return the two files for a kind of computer, that open and close by commands, word by word.

    ``icon`` is the path of a picture for both, where the kind of computer takes one.

    Raises BadFileError when a word can't be written in such a file.
    """
    for word in (*opening, *closing):
        if any(ord(sign) < ord(" ") for sign in word) or (system is System.WINDOWS and '"' in word):
            raise BadFileError(
                f"A shortcut can't hold the name {word!r}.", hint="Move it to a plainer name."
            )
    writers: dict[System, Callable[[str, Sequence[str], str], Shortcut]] = {
        System.LINUX: _desktop_entry,
        System.MAC: _shell_script,
        System.WINDOWS: _batch_file,
    }
    write = writers[system]
    return write(OPEN, opening, icon), write(CLOSE, closing, icon)


def _desktop_entry(title: str, command: Sequence[str], icon: str) -> Shortcut:
    lines = [
        "[Desktop Entry]",
        "Type=Application",
        "Version=1.5",
        f"Name=laydown: {title}",
        "Comment=Find a wanted color among the colorants you own",
        f"Exec={' '.join(map(desktop_word, command))}",
        f"Icon={_desktop_text(icon or 'applications-graphics')}",
        f"Terminal={'true' if title == OPEN else 'false'}",
        "Categories=Graphics;Education;",
    ]
    return f"{title}.desktop", ("\n".join(lines) + "\n").encode()


def desktop_word(word: str) -> str:
    r"""Quote a word of a command for the Exec key of a desktop entry.

    >>> print(desktop_word("/home/ann/100% $mine"))
    "/home/ann/100%% \\$mine"
    """
    quoted = re.sub(r'(["`$\\])', r"\\\1", word).replace("%", "%%")
    return f'"{_desktop_text(quoted)}"'


def _desktop_text(text: str) -> str:
    return text.replace("\\", "\\\\")


def _shell_script(title: str, command: Sequence[str], _icon: str) -> Shortcut:
    told = NOT_RUN.format(system="a Mac")
    lines = ["#!/bin/sh", f"# laydown: {title}", f"# {told}", f"exec {shlex.join(command)}"]
    return f"{title}.command", ("\n".join(lines) + "\n").encode()


def _batch_file(title: str, command: Sequence[str], _icon: str) -> Shortcut:
    words = " ".join(f'"{word}"' for word in command).replace("%", "%%")
    lines = [
        "@echo off",
        f"rem laydown: {title}",
        f"rem {NOT_RUN.format(system='Windows')}",
        "chcp 65001 >nul",
        f"title laydown: {title}",
        words,
        "if errorlevel 1 pause",
    ]
    return f"{title}.bat", ("\r\n".join(lines) + "\r\n").encode()
