"""People of one catalogue: who they are, how they sign in, what they may change, and what they changed."""
