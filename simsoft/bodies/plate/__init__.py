"""The plate: its equilibrium, modes, stability, time march, harmonic balance."""
