"""The case room: what the user writes -> a checked Case in SI.

``from simsoft.case.read import load, loads`` and ``from simsoft.case.starter import starter``;
this package file imports nothing, so that reading ``simsoft.case.model`` stays cheap.
"""
