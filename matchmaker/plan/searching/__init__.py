"""The search for the best plan of a problem, and the proof that it is the best."""
