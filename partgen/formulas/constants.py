"""Constants of nature that more than one formula needs."""

GRAVITY = 9806.65
"""Standard gravity [mm/s2], as the third general conference on weights and measures (1901) fixed it."""
