"""The model of a case: parts with their inputs, pieces weighed, arrays for the solvers."""
