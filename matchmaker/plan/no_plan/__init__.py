"""Why a problem has no plan, and the fewest rules to loosen until it has one."""
