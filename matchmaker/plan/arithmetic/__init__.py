"""A plan scored and checked by plain arithmetic: no solver has a say here."""
