"""Glaze recipes as chemistry: materials, unity formula, expansion, gas."""
