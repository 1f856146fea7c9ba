"""What findings touch in this spring's plan, and the cells that mend them."""
