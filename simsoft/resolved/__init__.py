"""The resolved flow: a lattice-Boltzmann flow around simsoft's own soft parts."""
