"""Dimensioned drawings on sheets of paper, to scale."""
