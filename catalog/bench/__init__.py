"""Before the firing: buckets, what was glazed from them, how far each piece is, what was lost."""
