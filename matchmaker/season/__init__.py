"""The season around the pens: what this flock's eggs give, eggs to set, and the calendar."""
