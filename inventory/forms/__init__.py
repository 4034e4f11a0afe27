"""What people fill in about stock."""
