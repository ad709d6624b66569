"""Write tests/published/chart_photographs.csv: the patches of two real photographs of a chart.

Run: python tools/read_chart_photographs.py NOTEBOOK, which is the example notebook named in
tests/published/SOURCES.md; its first two outputs are the photographs.
"""

import base64
import io
import json
import sys
from pathlib import Path

import numpy as np
from PIL import Image

from laydown.imaging.chart import find_chart
from laydown.imaging.profiles import usual_profile

TABLE = Path(__file__).parent.parent / "tests" / "published" / "chart_photographs.csv"
PHOTOGRAPHS = 2


def pictures(notebook: Path) -> list[Image.Image]:
    """Return the pictures among a notebook's outputs, in order."""
    cells = json.loads(notebook.read_text(encoding="utf-8"))["cells"]
    data = [output.get("data", {}) for cell in cells for output in cell.get("outputs", [])]
    coded = [base64.b64decode(found["image/png"]) for found in data if "image/png" in found]
    return [Image.open(io.BytesIO(content)).convert("RGB") for content in coded]


def main() -> None:
    """Find the chart in both photographs and write the linear mean of each patch."""
    profile = usual_profile()
    lines = ["photograph,patch,R,G,B"]
    for number, picture in enumerate(pictures(Path(sys.argv[1]))[:PHOTOGRAPHS], start=1):
        found = find_chart(np.asarray(picture), profile.curves[:, 0])
        if found is None:
            raise SystemExit(f"no chart found in photograph {number}")
        signal = profile.linear(found.boxes).mean(axis=1)
        for patch, (R, G, B) in enumerate(signal, start=1):
            lines.append(f"{number},{patch},{R:.5f},{G:.5f},{B:.5f}")
    TABLE.write_text("\n".join(lines) + "\n", encoding="utf-8", newline="\n")
    print(f"{TABLE.name}: {len(lines) - 1} patches")


if __name__ == "__main__":
    main()
