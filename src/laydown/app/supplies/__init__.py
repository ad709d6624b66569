"""Supplies."""
