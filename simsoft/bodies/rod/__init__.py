"""The rod: its equations, equilibrium, modes, stability, time march, limit cycle."""
