"""When birds are lost: whose the eggs are, and the fewest moves that mend the pens."""
