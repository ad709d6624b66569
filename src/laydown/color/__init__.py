"""Spectra, color spaces, differences, value and names of colors."""
