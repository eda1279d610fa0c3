"""What a piece may be used for, in one of a few plain statements; and which pieces go with one that fails."""
