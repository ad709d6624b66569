import hashlib
import re
from importlib.resources import files

import pytest
from starlette.testclient import TestClient

from laydown.web.rendering import environment

STATIC = files("laydown.web") / "static"


def test_vendored_files_are_what_their_list_says() -> None:
    """A library of others is byte for byte the published one, and its licence lies beside it."""
    rows = re.findall(r"^\| `(.+?)` \|.*`(.+?)`.*`([0-9a-f]{64})`", vendored(), flags=re.MULTILINE)
    assert rows
    for name, licence, checksum in rows:
        assert hashlib.sha256((STATIC / name).read_bytes()).hexdigest() == checksum
        assert (STATIC / licence).is_file()


def test_every_minified_script_is_listed() -> None:
    """Nothing of others lies here without its row."""
    scripts = [entry.name for entry in STATIC.iterdir() if ".min." in entry.name]
    assert all(f"`{name}`" in vendored() for name in scripts)


def vendored() -> str:
    """Return the list of libraries of others."""
    return (STATIC / "VENDORED.md").read_text(encoding="utf-8")


def test_licences_are_linked_where_they_are(
    shoal: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The program that needs no Python holds a page of them; elsewhere no link leads nowhere."""
    link = 'href="/static/licences.html"'
    assert link not in shoal.get("/stop").text
    monkeypatch.setitem(environment().globals, "licences", True)
    assert link in shoal.get("/stop").text
