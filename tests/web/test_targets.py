"""A target in a sketchbook on the bench: printed, read, its patches named in a form, once."""

import io
from collections.abc import Callable
from types import ModuleType
from typing import Any

from PIL import Image
from starlette.testclient import TestClient

from laydown.demo.photograph import Camera, View

Ended = Callable[[int], dict[str, Any]]


def test_each_patch_is_shown_and_named_once(
    visit: TestClient, photos: ModuleType, ended: Ended
) -> None:
    """The form has a field for each patch; what is named is kept, and known the next time."""
    made = visit.post("/sheets.json", data={"kind": "target", "paper": "Sketchbook"}).json()
    number = made["number"]
    assert visit.get(f"/sheet/file?number={number}").content.startswith(b"%PDF")
    assert "Photograph" in visit.get(f"/sheet?number={number}").text
    view = View(megapixels=2, tilt=8, toward=40, fill=0.9)
    taken = photos.take_target(number, view=view, camera=Camera(photos.colorimetric()))
    content = io.BytesIO()
    Image.fromarray(taken.pixels).save(content, "PNG")
    sent = {"files": [("files", ("page.png", content.getvalue()))]}
    job = visit.post("/sheet/read.json", **sent).json()["id"]
    assert ended(job)["state"] == "done"
    page = visit.get(f"/sheet/reading?job={job}").text
    assert page.count('name="names"') == len(taken.boxes)
    names = [f"Tint {place}" for place in range(len(taken.boxes) - 1)]
    said = {"job": str(job), "names": [*names, ""], "add_to": "Tints"}
    kept = visit.post("/sheet/settle.json", data=said).json()["id"]
    assert ended(kept)["state"] == "done"
    assert "12 cells were taken over." in visit.get(f"/sheet/reading?job={kept}").text
    again = visit.post("/sheet/read.json", **sent).json()["id"]
    assert ended(again)["state"] == "done"
    page = visit.get(f"/sheet/reading?job={again}").text
    assert 'name="names"' not in page
    assert "Tint 11" in page
