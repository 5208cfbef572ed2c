"""Algorithms that know no body: they are handed functions or matrices."""
