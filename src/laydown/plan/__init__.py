"""Choices over many matches: charts first."""
