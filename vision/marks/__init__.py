"""Marks on a surface: candidates, their features, and what kind each one is."""
