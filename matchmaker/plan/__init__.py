"""The integer program: from judged pairs to proven pens."""
