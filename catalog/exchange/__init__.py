"""A catalogue as an open package, and back: CSV tables, photos and their descriptions in one zip file."""
