"""When birds are lost: whose the eggs are, and the smallest good change to the standing pens."""
