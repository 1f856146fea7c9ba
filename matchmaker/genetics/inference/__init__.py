"""Networks of discrete variables: exact sums, and samples where those are out of reach."""
