"""Papers, colorants, laydowns and recipes, and how they reflect light."""
