"""Which birds to test before planning, and what the answers may be worth."""
