"""What the studio knows: pieces, photos kept, colour search, glaze and firing facts, causes."""
