"""A keeper's own books taken in: what each sheet and column is, what is asked, what is written."""
