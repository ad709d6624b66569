"""Lesson."""
