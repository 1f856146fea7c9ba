"""Two keepers' books as they come: bred true, laid out as sheets, then spoilt habit by habit."""
