"""What a photo says: pixels in, typed readings out. Knows no database, no screen, no recipe."""
