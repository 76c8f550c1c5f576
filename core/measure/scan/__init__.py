"""Pictures: edge within a fraction of a pixel, scale, sturdy fit, allowances."""
