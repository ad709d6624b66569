"""Files that people hand to each other: swatch files in and out, charts as PDF, HTML and CSV."""
