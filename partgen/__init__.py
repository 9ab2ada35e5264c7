"""Wagons for a home-made toy train: measured figures in, proven printable parts out."""

__version__ = "0.1.0"
