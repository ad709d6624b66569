"""Matches."""
