"""Exact search over layered recipes, and what to say of a recipe against a target."""
