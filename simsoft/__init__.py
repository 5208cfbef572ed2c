"""simsoft: predict the action of a soft-plastic lure before anything is printed."""

__version__ = "0.1.0"
