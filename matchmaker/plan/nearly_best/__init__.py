"""Plans nearly as good as the best: how many, how different, which to keep."""
