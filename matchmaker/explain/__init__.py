"""Why: each pair, bird, pen and plan explained by what it breaks, what it costs, what it takes."""
