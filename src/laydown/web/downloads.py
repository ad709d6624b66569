"""Hand a file over: under its own name, and never opened in the place of a page."""

import re
from urllib.parse import quote

from fastapi import Response

KINDS = {
    "pdf": "application/pdf",
    "html": "text/html; charset=utf-8",
    "csv": "text/csv; charset=utf-8",
    "json": "application/json",
    "svg": "image/svg+xml",
    "png": "image/png",
    "jpg": "image/jpeg",
    "webp": "image/webp",
    "txt": "text/plain; charset=utf-8",
    "zip": "application/zip",
}
OTHER = "application/octet-stream"


def file_of(content: bytes, name: str, *, shown: bool = False) -> Response:
    """Answer with a file.

    Parameters
    ----------
    content
        Of the file.
    name
        That it is saved under; its ending says what it is.
    shown
        Whether the browser may show it in a page instead, as pictures are.
    """
    kind = KINDS.get(name.rpartition(".")[2], OTHER)
    placed = "inline" if shown else "attachment"
    plain = re.sub(r"[^A-Za-z0-9._-]+", "-", name).strip("-") or "laydown"
    disposition = f"{placed}; filename=\"{plain}\"; filename*=UTF-8''{quote(name, safe='')}"
    return Response(content, media_type=kind, headers={"Content-Disposition": disposition})
