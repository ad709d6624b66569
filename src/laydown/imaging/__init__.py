"""Photographs and scans of sheets: opened safely, straightened, lit evenly, read cell by cell."""
