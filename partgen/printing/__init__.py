"""How parts print: pose, walls, overhangs, estimates, and the coupon that calibrates the printer."""
