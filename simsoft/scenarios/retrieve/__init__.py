"""Scenario 'retrieve': held in a stream; one module for each kind of body."""
