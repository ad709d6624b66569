"""Lessons."""
