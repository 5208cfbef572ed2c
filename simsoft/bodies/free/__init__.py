"""The lure free in the water: rigid base, chains and seated plates as one."""
