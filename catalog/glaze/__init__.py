"""What the recipe is: materials, formula, expansion, gas, cautions."""
