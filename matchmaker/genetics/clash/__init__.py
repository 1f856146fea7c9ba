"""Records that cannot all be true, and what would explain them."""
