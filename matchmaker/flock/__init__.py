"""The flock of the books: birds, their parents, lines and pedigree."""
