"""Marker."""
