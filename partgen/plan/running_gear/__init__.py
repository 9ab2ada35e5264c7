"""Wheels, axle holders, bogies and the frame that they carry."""
