"""The best plan with one pair or without it, and what each pair costs."""
