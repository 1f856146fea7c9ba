"""From judged pairs, pens and wishes to the planning problem: plain sets and numbers."""
