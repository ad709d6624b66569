"""How many bytes a file may have, once for all doors and readers.

Each reader counts what it reads besides, rows and cells, elements and pixels, so that any file up
to these sizes is read or refused within five seconds and 500 MB: ``benchmarks/hostile_files.py``
tries the worst ones. A picture's own pixels are apart: ``benchmarks/large_pictures.py``.
"""

SWATCHES = 20_000_000
"""Ten thousand swatches with spectra take 7 MB as CSV and 14 MB as CxF."""
LIST = 5_000_000
"""Wanted colors, prices, lightfastness: five thousand colors with a note each take 1 MB."""
LESSON = 1_000_000
"""Five hundred colors with their spectra and long notes take a third of it."""
CHANGES = 1_000_000
"""Two thousand changes of twenty regions each take 250 kB."""
PLAN = 60_000_000
"""A picture's plan takes 1 to 5 MB."""
NOTEBOOK = 200_000_000
"""Nearly all of it photographs, and no more than a browser can send at once."""
PICTURE = 450_000_000
"""A picture of 10,000 × 10,000 pixels in four inks, not packed, and its profile."""
PDF = 100_000_000
"""Sixteen pages scanned in color at 300 dpi take 50 MB."""
PHOTOGRAPH = 60_000_000
"""What is kept with a trial, as it came from a phone."""
