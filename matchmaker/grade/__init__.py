"""Young birds: keep, let go or wait, with the reason."""
