"""What people fill in on the pages of jobs."""
