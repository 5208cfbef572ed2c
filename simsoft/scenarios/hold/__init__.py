"""Scenario 'hold': still water; one module for each kind of body."""
