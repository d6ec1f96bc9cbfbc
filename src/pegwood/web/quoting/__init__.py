"""What a job may cost, as the pages show it."""
