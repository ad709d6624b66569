"""Notebook."""
