"""Rendered photos of glazed tiles and ware with exact truth: demo photos, training and test sets."""
