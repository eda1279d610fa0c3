"""What the clay does: shrinkage, sizes wet, dry and fired, absorption."""
